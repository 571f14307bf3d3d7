"""Addresses of the pages."""

from django.urls import include, path, register_converter

from lifecycle.records.codes import LENGTH
from lifecycle.web import (
    beds,
    climate,
    entries,
    first_run,
    health,
    inbox,
    plants,
    settings,
    sign_in,
    sowings,
    today,
    work,
)


class CodeConverter:
    """A label code in either case."""

    regex = f"[A-Za-z0-9]{{{LENGTH}}}"

    def to_python(self, value: str) -> str:
        """Return the code as it is kept."""
        return value.upper()

    def to_url(self, value: str) -> str:
        """Return the code as it is kept."""
        return value


register_converter(CodeConverter, "code")

garden = [
    path("", today.today, name="today"),
    path("beds", beds.beds, name="beds"),
    path("beds/<int:pk>", beds.bed, name="bed"),
    path("beds/<int:pk>/log/<slug:kind>", beds.log_several, name="log-several"),
    path("places/add", beds.add_place_page, name="add-place"),
    path("sites/add", beds.add_site_page, name="add-site"),
    path("plants", plants.plants, name="plants"),
    path("plants/add", plants.take_over, name="take-over"),
    path("plants/<code:code>", plants.plant, name="plant"),
    path("plants/<code:code>/log", plants.log_choice, name="log-choice"),
    path("plants/<code:code>/log/<slug:kind>", entries.log_plant, name="log-plant"),
    path("plants/<code:code>/move", entries.move, name="move"),
    path("plants/<code:code>/split", plants.split, name="split"),
    path("plants/<code:code>/cuttings", plants.cuttings, name="cuttings"),
    path("plants/<code:code>/seed", plants.seed, name="seed"),
    path("plants/<code:code>/hand-over", plants.hand_over_page, name="hand-over"),
    path("sow", sowings.sow_page, name="sow"),
    path("sowings/<code:code>", sowings.sowing, name="sowing"),
    path("sowings/<code:code>/log/<slug:kind>", entries.log_sowing, name="log-sowing"),
    path("sowings/<code:code>/pot-up", sowings.pot_up_page, name="pot-up"),
    path("entries/<int:pk>", entries.entry, name="entry"),
    path("tasks", work.tasks, name="tasks"),
    path("tasks/<int:pk>", work.task, name="task"),
    path("inbox", inbox.inbox, name="inbox"),
    path("inbox/<int:pk>", inbox.message, name="message"),
    path("sites/<int:pk>/climate", climate.climate, name="climate"),
    path("more", settings.more, name="more"),
]

urlpatterns = [
    path("healthz", health.healthz, name="healthz"),
    path("readyz", health.readyz, name="readyz"),
    path("first-run", first_run.first_run, name="first-run"),
    path("sign-in", sign_in.SignIn.as_view(), name="sign-in"),
    path("sign-out", sign_in.sign_out, name="sign-out"),
    path("", sign_in.home, name="home"),
    path("p/<str:code>", sign_in.label, name="label"),
    path("settings", settings.settings, name="settings"),
    path("g/<slug:slug>/", include(garden)),
]
