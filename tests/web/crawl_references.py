"""What the fields of forms name: a row of the garden, or nothing of the kind."""

REFERENCES: dict[str, str] = {
    "away": "away",
    "bed": "frost_bed",
    "chore": "chore",
    "cover": "member",
    "everything": "member",
    "given": "given",
    "for_task": "swapped_task",
    "holder": "member",
    "inspection": "inspection",
    "material": "material",
    "message": "failed_message",
    "other": "neighbour",
    "person": "member",
    "place": "place",
    "plant": "plant",
    "saved_from": "plant_pk",
    "site": "site",
    "to": "member",
    "variety": "variety",
    "waiting": "waiting",
}
"""The field's name without its form's prefix -> the thing of the garden it names."""

BY_FORM: dict[tuple[str, str], str] = {
    ("sow", "variety"): "",
    ("take-over", "variety"): "",
    ("given-away", "to"): "",
    ("hours", "row"): "hours",
    ("stop-push", "device"): "push",
}
"""The same for one address, where the name means something else there; "": it names no row."""

PLAIN = {
    "count",  # plants on one label
    "family",
    "whose",  # mine, nobody's, others'
    "year_starts_in",
    "frost_harm",
    "frost_kill",
    "pepper_seed_life",
    "plant_out_night",
    "rotation_gap",
    "set_day_limit",
    "digest_day",
    "digest_hour",
    "row",
    "seen",  # who had a task when the page was shown, compared and not looked up
}
"""Fields of numbers that name no row: choices, counts, months, the line of a page."""

PEOPLE = {"member"}
"""Things that are people: a former member may not be named either."""

QUIET = {("tasks", "place"), ("tasks", "chore")}
"""Fields that only narrow down: of a place that is not the garden's nothing is left to do."""

NOT_READ = {("week", "to"): ("before", "drop", "nobody", "propose", "publish")}
"""Fields that some buttons of a form do not read."""

NOT_SENT = {
    **dict.fromkeys(("SearchForm", "WantedForm", "WhoseForm"), "only asks, by GET"),
    **dict.fromkeys(("SignInForm", "FirstRunForm", "LinkForm", "OpenLinkForm"), "names no row"),
    **dict.fromkeys(("AcceptForm", "JoinAsForm", "AskToJoinForm"), "names no row"),
    "HappenedForm": "asked the morning after; names no row",
}
"""Forms that no page of the crawl shows to be sent, and why."""
