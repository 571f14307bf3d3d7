"""The first page of a fresh installation: its first person, garden and site."""

from django.contrib.auth.decorators import login_not_required
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from lifecycle.records.ground.gardens import found_garden, nobody_yet
from lifecycle.web.door import attempt, page
from lifecycle.web.forms.gardens import FirstRunForm
from lifecycle.web.people import session


@login_not_required
@never_cache
@require_http_methods(["GET", "HEAD", "POST"])
def first_run(request: HttpRequest) -> HttpResponse:
    """Found the first garden; once anybody exists this page leads to sign-in."""
    if not nobody_yet():
        return redirect("sign-in")
    now = timezone.now()
    form = FirstRunForm(request.POST or None, initial={"time_zone": "UTC"})
    if request.method == "POST" and form.is_valid():
        owner = attempt(form, lambda: found_garden(now=now, **form.cleaned_data))
        if owner is not None:
            session.begin(request, owner.person, own_device=False, now=now)
            return redirect("today", owner.garden.slug)
    bad_form = form if form.errors else None
    return page(request, "first_run.html", {"form": form, "bad_form": bad_form})
