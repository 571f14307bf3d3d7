"""Sign in, sign out, and the way from a label to its page."""

from typing import Any

from django.contrib.auth import logout
from django.contrib.auth.views import LoginView
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from lifecycle.models import Garden, Membership, Plant, Sowing
from lifecycle.records.gardens import nobody_yet
from lifecycle.web.door import UNREADABLE, reader, record_url
from lifecycle.web.forms.gardens import SignInForm


class SignIn(LoginView):
    """One form; an empty installation leads to its first run instead."""

    authentication_form = SignInForm
    template_name = "lifecycle/sign_in.html"
    redirect_authenticated_user = True

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> Any:
        """Show the form, once there is somebody who could sign in."""
        return redirect("first-run") if nobody_yet() else super().get(request, *args, **kwargs)

    def form_invalid(self, form: Any) -> HttpResponse:
        """Show the form again with what is wrong."""
        return self.render_to_response(
            self.get_context_data(form=form, bad_form=form), status=UNREADABLE
        )

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        """Add whether a demonstration garden is here to be looked at."""
        demonstration = Garden.objects.filter(invented=True).exists()
        return super().get_context_data(demonstration=demonstration, **kwargs)


@require_POST
def sign_out(request: HttpRequest) -> HttpResponse:
    """End the session."""
    logout(request)
    return redirect("sign-in")


@require_safe
def home(request: HttpRequest) -> HttpResponse:
    """Lead to the reader's garden, or let them choose among several."""
    members = list(
        Membership.objects.filter(person=reader(request), left_on__isnull=True)
        .select_related("garden")
        .order_by("garden__name", "pk")
    )
    if len(members) == 1:
        return redirect("today", members[0].garden.slug)
    invented = any(member.garden.invented for member in members)
    return render(request, "lifecycle/home.html", {"members": members, "invented": invented})


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
