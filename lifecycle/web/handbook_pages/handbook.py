"""Where it all comes from: every value with its source, and what a garden sets in its place."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from lifecycle.care.policy import SETTINGS
from lifecycle.handbook import CROPS, SOURCES
from lifecycle.models import Membership, Site, SiteSetting, Variety
from lifecycle.web.door import enter, page, rows
from lifecycle.web.handbook_pages.handbook_tables import table_sections
from lifecycle.web.handbook_pages.handbook_topics import (
    BOOKS_TOPIC,
    CROP,
    FACT_TOPICS,
    SETTINGS_TOPIC,
    crop_sections,
    fact_sections,
    titles,
    topics_by_source,
)


@require_safe
def sources(request: HttpRequest, slug: str) -> HttpResponse:
    """List the topics of the handbook."""
    enter(request, slug)
    named = titles()
    crops = {key: title for key, title in named.items() if key.startswith(CROP)}
    context = {
        "crops": crops.items(),
        "topics": [(key, title) for key, title in named.items() if key not in crops],
    }
    return page(request, "sources.html", context)


@require_safe
def sources_topic(request: HttpRequest, slug: str, topic: str) -> HttpResponse:
    """Show the values of one topic with their sources."""
    member = enter(request, slug)
    named = titles()
    if topic not in named:
        raise Http404("There is no such topic.")
    context = {"title": named[topic], "topic": topic, **_contents(topic, member)}
    return page(request, "sources_topic.html", context)


def _contents(topic: str, member: Membership) -> dict[str, Any]:
    person = member.person
    if topic == SETTINGS_TOPIC:
        return {"settings": _settings(member)}
    if topic == BOOKS_TOPIC:
        return {"books": _books()}
    if topic in FACT_TOPICS:
        return {"sections": fact_sections(topic, person)}
    if topic.startswith(CROP):
        crop = CROPS[topic.removeprefix(CROP)]
        varieties = rows(Variety, member).filter(species=crop.key).order_by("name", "pk")
        own = [(each.name, each.overrides) for each in varieties if each.overrides]
        return {"crop": crop, "sections": crop_sections(crop, own, person)}
    return {"sections": table_sections(topic, person)}


def _settings(member: Membership) -> list[dict[str, Any]]:
    """Return every disagreement with its sources, and what each site of the garden chose."""
    sites = list(rows(Site, member).order_by("name", "pk"))
    chosen = {
        (row.site_id, row.key): row.value
        for row in rows(SiteSetting, member)
        if row.key in SETTINGS
    }
    found = []
    for key, setting in SETTINGS.items():
        in_force = [(site, chosen.get((site.pk, key), setting.default)) for site in sites]
        found.append(
            {
                "key": key,
                "question": setting.question,
                "effect": setting.effect,
                "choices": [
                    {
                        "label": choice.label,
                        "source": SOURCES[choice.source],
                        "source_key": choice.source,
                        "sites": [site for site, value in in_force if value == choice.value],
                    }
                    for choice in setting.choices
                ],
            }
        )
    return found


def _books() -> list[dict[str, Any]]:
    named = {**titles(), "symptoms": "Symptoms"}
    by_source = topics_by_source()
    settings = {choice.source for each in SETTINGS.values() for choice in each.choices}
    return [
        {
            "key": key,
            "title": title,
            "topics": [(topic, named[topic]) for topic in by_source[key]]
            + ([(SETTINGS_TOPIC, named[SETTINGS_TOPIC])] if key in settings else []),
        }
        for key, title in sorted(SOURCES.items(), key=lambda item: item[1].lower())
    ]
