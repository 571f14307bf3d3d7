"""Sign in with a password, sign out, and the way from a label to its page."""

from typing import Any

from django.contrib.auth import logout
from django.contrib.auth.views import LoginView
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from lifecycle.models import Garden, Plant, Sowing
from lifecycle.records.ground.gardens import nobody_yet
from lifecycle.web.door import UNREADABLE, reader, record_url
from lifecycle.web.forms.account import SignInForm
from lifecycle.web.people import session
from lifecycle.web.people.farewell import farewell_words
from lifecycle.web.people.lock_out import locked_out, may_try, was_right
from lifecycle.web.people.own_path import own_path


# Before anything else: whoever is signed in already is led on whatever the method.
@method_decorator(require_http_methods(["GET", "HEAD", "POST"]), name="dispatch")
class SignIn(LoginView):
    """One form; an empty installation leads to its first run instead."""

    authentication_form = SignInForm
    template_name = "lifecycle/sign_in.html"
    redirect_authenticated_user = True

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        """Show the form, once there is somebody who could sign in."""
        return redirect("first-run") if nobody_yet() else super().get(request, *args, **kwargs)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Try what was typed, unless too much was tried from here already."""
        if not may_try(request, timezone.now()):
            return locked_out(request)
        answer: HttpResponse = super().post(request, *args, **kwargs)
        return answer

    def get_redirect_url(self, request: HttpRequest | None = None) -> str:
        """Return where the reader wanted to go; nothing but a path of this site."""
        name = self.redirect_field_name
        return own_path(self.request.POST.get(name, self.request.GET.get(name)))

    def form_valid(self, form: Any) -> HttpResponse:
        """Sign the person in, for as long as the device allows."""
        was_right(self.request)
        own = form.cleaned_data["own_device"]
        session.begin(self.request, form.get_user(), own_device=own, now=timezone.now())
        return redirect(self.get_success_url())

    def form_invalid(self, form: Any) -> HttpResponse:
        """Show the form again with what is wrong."""
        return self.render_to_response(
            self.get_context_data(form=form, bad_form=form), status=UNREADABLE
        )

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Add whether a demonstration garden is here, and what has just ended."""
        return super().get_context_data(
            demonstration=Garden.objects.filter(invented=True).exists(),
            ended=self.request.GET.get("ended") == "1",
            farewell=farewell_words(self.request),
            **kwargs,
        )


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """End the session."""
    logout(request)
    return redirect("sign-in")


@require_safe
def label(request: HttpRequest, code: str) -> HttpResponse:
    """Lead from a label's code to the page of its plant or sowing.

    Signed out, every code gets the same answer: the sign-in page.
    """
    wanted = code.upper()[:12].replace("\x00", "")
    for table in (Plant, Sowing):
        found = (
            table.objects.visible_to(reader(request))
            .select_related("garden")
            .filter(code=wanted)
            .first()
        )
        if found is not None:
            return redirect(record_url(found, found.garden.slug))
    raise Http404("No plant of your gardens carries this code.")
