"""A member with a phone: everything goes through the pages, as a person would do it."""

import re

from playwright.sync_api import Page

PASSWORD = "warm-nights-in-june-7"


class Gardener:
    """Drives the pages by their words."""

    def __init__(self, page: Page, address: str) -> None:
        self.page, self.address = page, address

    def go(self, path: str) -> None:
        """Open a page of the site, signing in again when the session has run out."""
        self.page.goto(f"{self.address}{path}")
        if "/sign-in" in self.page.url:
            self.sign_in()
            self.page.goto(f"{self.address}{path}")

    def sign_in(self) -> None:
        """Sign in as the owner."""
        self.fill("E-mail address", "owner@garden.example")
        self.fill("Password", PASSWORD)
        self.press("Sign in")

    def fill(self, label: str, value: str) -> None:
        """Type into the field with this label."""
        self.page.get_by_label(label, exact=True).fill(value)

    def choose(self, label: str, value: str) -> None:
        """Choose from the list with this label; ``value`` is how the choice begins."""
        field = self.page.get_by_label(label, exact=True)
        options = field.locator("option").all_inner_texts()
        [found] = [text for text in options if text.startswith(value)]
        field.select_option(label=found)

    def pick(self, label: str) -> None:
        """Pick the round button with this label."""
        self.page.get_by_label(label, exact=True).check()

    def press(self, name: str | re.Pattern[str]) -> None:
        """Press a button or follow a link with this name, and wait for the next page."""
        target = self.page.get_by_role("button", name=name)
        if target.count() == 0:
            target = self.page.get_by_role("link", name=name, exact=isinstance(name, str))
        target.first.click()
        self.page.wait_for_load_state()

    def unfold(self, label: str) -> None:
        """Open the fold that hides the field with this label."""
        fold = self.page.locator("details", has=self.page.get_by_label(label, exact=True))
        if fold.count() and fold.first.get_attribute("open") is None:
            fold.first.locator("summary").click()

    def sees(self, words: str) -> bool:
        """Return whether the page's text holds these words."""
        return words in self.page.locator("body").inner_text()

    def heading(self) -> str:
        """Return the page's first heading."""
        return self.page.locator("h1").first.inner_text()
