"""Where sources disagree: what a site chooses, who says which, and what it changes."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.care.policy import SETTINGS
from lifecycle.permissions import can, require
from lifecycle.records.ground.settings import choose, policy_in_force
from lifecycle.records.nights.frost_curve import curve_of
from lifecycle.web.door import attempt, enter, number_in, page, refused_page, site_or_404
from lifecycle.web.forms.site_settings import SettingForm
from lifecycle.web.nights.frost import costs_of
from lifecycle.web.words import planned_words


@require_http_methods(["GET", "HEAD", "POST"])
def site_settings(request: HttpRequest, slug: str, pk: int) -> HttpResponse:
    """Show every setting of a site, and take one choice."""
    member = enter(request, slug)
    site = site_or_404(member, pk)
    asked = request.POST.get("key", "") if request.method == "POST" else ""
    if request.method == "POST":
        require(member, "site.edit")
        if asked not in SETTINGS:
            return refused_page(
                request,
                "There is no such setting. Choose one from the page.",
                back=request.path,
                back_label=f"the settings of {site}",
            )
    policy = policy_in_force(site)
    costs = {"frost_kill": costs_of(curve_of(site))}
    forms = {
        key: SettingForm(
            setting,
            policy.of(key),
            request.POST if key == asked else None,
            costs=costs.get(key),
        )
        for key, setting in SETTINGS.items()
    }
    if asked and forms[asked].is_valid():
        value = forms[asked].cleaned_data[asked]
        planned = attempt(
            forms[asked], lambda: choose(member, site, asked, value, now=timezone.now())
        )
        if planned is not None:
            return redirect(f"{request.path}?saved={asked}&plants={planned}#{asked}")
    saved = request.GET.get("saved", "")
    context = {
        "site": site,
        "forms": list(forms.values()),
        "bad_form": next((form for form in forms.values() if form.errors), None),
        "may_choose": can(member, "site.edit"),
        "saved": SETTINGS.get(saved),
        "planned": planned_words(number_in(request, "plants") or 0),
    }
    return page(request, "site_settings.html", context)
