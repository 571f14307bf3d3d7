"""The garden's own settings: its name, how people join, safety notice, waiver, hours ledger."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from lifecycle.records.people.garden_settings import change_garden
from lifecycle.records.people.join_link import end_link, join_path, new_link
from lifecycle.records.refusal import Refused
from lifecycle.web.door import attempt, enter, page, refused_page
from lifecycle.web.forms.people import GardenForm
from lifecycle.web.people.sure import sure

_ACTS = {"new_link": new_link, "end_link": end_link}
_SAID = {
    "saved": "The settings are saved.",
    "new_link": "The garden has a new link. The earlier one leads nowhere any more.",
    "end_link": "The link is ended. People join by invitation only.",
}


@sure
@require_http_methods(["GET", "HEAD", "POST"])
def garden_settings(request: HttpRequest, slug: str) -> HttpResponse:
    """Show the settings; a POST saves them, or makes or ends the join link."""
    member = enter(request, slug, "garden.edit")
    garden, now = member.garden, timezone.now()
    act = request.POST.get("act", "") if request.method == "POST" else ""
    if act in _ACTS:
        try:
            _ACTS[act](member, now=now)
        except Refused as refusal:
            return refused_page(
                request, str(refusal), back=request.path, back_label="the garden’s settings"
            )
        return redirect(f"{request.path}?said={act}")
    posted = request.POST if request.method == "POST" else None
    initial = {key: getattr(garden, key) for key in GardenForm.base_fields}
    form = GardenForm(posted, initial=initial)
    if posted is not None and form.is_valid():
        attempt(form, lambda: change_garden(member, now=now, **form.cleaned_data))
        if not form.errors:
            return redirect(f"{request.path}?said=saved")
    path = join_path(garden)
    context = {
        "form": form,
        "bad_form": form if form.errors else None,
        "link": f"{settings.SITE_URL}{path}" if path else "",
        "joining": garden.get_joining_display(),
        "said": _SAID.get(request.GET.get("said", ""), ""),
    }
    return page(request, "garden_settings.html", context)
