"""What is seen on a plant: likely causes in order, what to do, and whose word it is."""

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_safe

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.handbook import CAUTIONS, CROPS, SOURCES, SYMPTOMS, Cause
from lifecycle.life.kinds import Kind
from lifecycle.models import Membership, Plant
from lifecycle.records.crops.codes import LENGTH
from lifecycle.web.door import enter, page, rows
from lifecycle.web.handbook_pages.handbook_words import mark_words


@require_safe
def symptoms(request: HttpRequest, slug: str) -> HttpResponse:
    """List what may be seen; for a plant named in the address, what concerns its crop."""
    member = enter(request, slug)
    plant = _plant(request, member)
    found = list(SYMPTOMS.values())
    if plant is not None:
        group = CROPS[plant.variety.species].group
        found = [each for each in found if group in each.groups] or found
    return page(request, "symptoms.html", {"plant": plant, "symptoms": found})


@require_safe
def symptom(request: HttpRequest, slug: str, key: str) -> HttpResponse:
    """Show the likely causes of what is seen."""
    member = enter(request, slug)
    if key not in SYMPTOMS:
        raise Http404("There is no such symptom.")
    found, plant = SYMPTOMS[key], _plant(request, member)
    log = reverse("log-plant", args=[slug, plant.code, Kind.SYMPTOM]) if plant else ""
    context = {
        "plant": plant,
        "symptom": found,
        "causes": [_cause(each) for each in found.causes],
        "log": f"{log}?choice={key}" if log else "",
        "cautions": _cautions(found.causes),
    }
    return page(request, "symptom.html", context)


def _plant(request: HttpRequest, member: Membership) -> Plant | None:
    """Return the plant of the address, or None where it names none of this garden."""
    code = request.GET.get("plant", "").upper()
    if len(code) != LENGTH or not code.isalnum():
        return None
    return rows(Plant, member).select_related("variety").filter(code=code).first()


def _cause(cause: Cause) -> dict[str, object]:
    step = STEP_RULES.get(cause.step)
    return {
        "row": cause,
        "source": SOURCES[cause.source],
        "mark": mark_words(cause.mark, cause.source),
        "step": step.label if step else "",
    }


def _cautions(causes: tuple[Cause, ...]) -> list[str]:
    """Return the cautions that go with what is to be done: virus hygiene, and sprays."""
    found = []
    if any(cause.discard for cause in causes):
        found.append(CAUTIONS["virus"])
    if any("soap" in cause.remedy for cause in causes):
        found += [CAUTIONS["soap"], CAUTIONS["pesticide"]]
    return found
