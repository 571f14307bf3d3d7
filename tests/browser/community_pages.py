"""The pages of people, plots, work and the year in the invented garden, by who may open them."""

from django.utils import timezone

from lifecycle.models import Chore, HandOver, Membership, Place, Plant, Site, Sowing, Tool

EVERYBODY = ("people", "me", "chores", "tools", "given-away", "hand-overs", "hand-over-sheet")
WORKERS = ("away", "hours")
LEADS = (
    *("week", "week?pick=all", "chores/add", "inspections", "people/invite", "people/waiting"),
    "report",
)


def community_addresses(base: str, role: str, site: Site) -> dict[str, str]:
    """Return one address of every such page, by name."""
    mine = {"garden_id": site.garden_id}
    year = timezone.now().year - 1
    bed = Place.objects.get(site=site, name="Bed 3")
    names = [*EVERYBODY, "leave", "welcome"]
    names.append(f"chores/{Chore.objects.filter(**mine).first().pk}")
    names.append(f"tools/{Tool.objects.filter(**mine).first().pk}")
    names.append(f"hand-overs/{HandOver.objects.filter(**mine).first().pk}")
    names.append(f"people/{Membership.objects.filter(**mine).first().person_id}")
    if role == "committee":
        names += ["report", f"report/{year}"]
    else:
        plant = Plant.objects.filter(**mine, phase="resting").order_by("pk").first()
        sowing = Sowing.objects.filter(**mine, phase="seedling").order_by("pk").first()
        names += [*WORKERS, f"plants/{plant.code}/hand-over", f"sowings/{sowing.code}/hand-over"]
    if role == "coordinator":
        names += [*LEADS, f"report/{year}", f"report/{year}/plants-end"]
        names += [f"beds/{bed.pk}/{page}" for page in ("rules", "holders", "inspect", "hand-over")]
        names.append(f"sites/{site.pk}/bed-rules")
    outside = ("/settings/password", "/settings/export", "/settings/erase")
    return {name: f"{base}/{name}" for name in names} | {name: name for name in outside}
