"""Frost nights: what was judged, what was done bed by bed, who was asked, and what came of it."""

from django.db import models
from django.db.models import F, Q

from lifecycle.models.scoping import GardenRow


class GardenCover(GardenRow):
    """Covers of one kind that a site has, and where they are kept.

    ``protection`` is a key of the handbook's protections; ``area_m2`` what one piece covers.
    """

    site = models.ForeignKey("lifecycle.Site", on_delete=models.PROTECT, related_name="covers")
    protection = models.CharField(max_length=24)
    pieces = models.PositiveSmallIntegerField()
    area_m2 = models.FloatField()
    kept_in = models.CharField(max_length=80, blank=True)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=Q(area_m2__gt=0), name="garden_cover_has_area")
        ]
        ordering = ["protection", "pk"]

    def __str__(self) -> str:
        return f"{self.pieces} of {self.protection}"


class FrostNight(GardenRow):
    """One night at a site: how cold it may get where the plants stand, and what was decided.

    ``night`` is the date of its evening. Chances are of the most tender plants out there:
    that the low falls to what kills them, or below what harms them. ``kill_ratio`` and
    ``harm_ratio`` are the chances from which the site acts. ``ask_from`` is when people were
    begun to be asked, ``told_c`` the low they were last told, ``said`` what was told once for
    all and need not be looked at again.
    """

    class State(models.TextChoices):
        """Where the night stands."""

        QUIET = "quiet", "No frost to fear"
        POSSIBLE = "possible", "Frost possible"
        CALLED = "called", "Frost called"
        NOT_NEEDED = "not_needed", "Not needed, a coordinator says"
        CANCELLED = "cancelled", "Called off: it stays warmer"
        OVER = "over", "Over"

    class Harm(models.TextChoices):
        """What the plants showed afterwards."""

        NONE = "none", "Nothing harmed"
        SOME = "some", "Some harmed"
        KILLED = "killed", "Some killed"

    site = models.ForeignKey(
        "lifecycle.Site", on_delete=models.PROTECT, related_name="frost_nights"
    )
    night = models.DateField()
    state = models.CharField(max_length=10, choices=State, default=State.QUIET)
    forecast = models.ForeignKey(
        "lifecycle.NightForecast", null=True, on_delete=models.PROTECT, related_name="+"
    )
    expected_c = models.FloatField()
    sd_c = models.FloatField()
    kill_chance = models.FloatField()
    harm_chance = models.FloatField()
    kill_ratio = models.FloatField()
    harm_ratio = models.FloatField()
    calm = models.BooleanField(null=True)
    sunset_at = models.DateTimeField(null=True)
    low_at = models.DateTimeField(null=True)
    people_needed = models.PositiveSmallIntegerField(default=0)
    stale = models.BooleanField(default=False)
    judged_at = models.DateTimeField()
    called_at = models.DateTimeField(null=True)
    called_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    called_off_at = models.DateTimeField(null=True)
    ask_from = models.DateTimeField(null=True)
    told_c = models.FloatField(null=True)
    said = models.JSONField(default=list, blank=True)
    dismissed_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    dismissed_why = models.CharField(max_length=200, blank=True)
    lowest_c = models.FloatField(null=True)
    harm = models.CharField(max_length=8, choices=Harm, blank=True)
    outcome_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    outcome_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["site", "night"], name="frost_night_once"),
            models.CheckConstraint(
                condition=Q(kill_chance__range=(0, 1)) & Q(harm_chance__range=(0, 1)),
                name="frost_night_chances",
            ),
        ]
        ordering = ["-night", "pk"]

    def __str__(self) -> str:
        return f"{self.site}, night of {self.night}"


class FrostBed(GardenRow):
    """What one place needs on a frost night, and what was done there.

    ``told_action`` is what people were last told to do here.
    """

    class Action(models.TextChoices):
        """What to do."""

        LEAVE = "leave", "Leave"
        COVER = "cover", "Cover"
        BRING_IN = "bring_in", "Bring in"
        NOT_ENOUGH = "not_enough", "Cover; it may not be enough"

    class Mark(models.TextChoices):
        """What somebody saw done."""

        UNKNOWN = "", "Not known"
        DONE = "done", "Covered or brought in"
        NOT_DONE = "not_done", "Not covered"

    frost_night = models.ForeignKey(FrostNight, on_delete=models.PROTECT, related_name="beds")
    place = models.ForeignKey("lifecycle.Place", on_delete=models.PROTECT, related_name="+")
    action = models.CharField(max_length=10, choices=Action)
    told_action = models.CharField(max_length=10, choices=Action, blank=True)
    plants = models.PositiveSmallIntegerField()
    protection = models.CharField(max_length=24, blank=True)
    pieces = models.PositiveSmallIntegerField(default=0)
    mark = models.CharField(max_length=8, choices=Mark, blank=True)
    marked_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    marked_at = models.DateTimeField(null=True)
    uncovered_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )
    uncovered_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["frost_night", "place"], name="frost_bed_once")
        ]

    def __str__(self) -> str:
        return f"{self.get_action_display()}: {self.place}"


class OnCallTurn(GardenRow):
    """A member is on call for frost nights at a site from one day to another.

    Lower ``position`` is asked first. ``wakes``: may be woken in quiet hours when plants would die.
    """

    site = models.ForeignKey("lifecycle.Site", on_delete=models.PROTECT, related_name="on_call")
    person = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    first_day = models.DateField()
    last_day = models.DateField()
    position = models.PositiveSmallIntegerField(default=1)
    wakes = models.BooleanField(default=False)

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(last_day__gte=F("first_day")), name="on_call_turn_in_order"
            ),
            models.UniqueConstraint(
                fields=["site", "person", "first_day"], name="on_call_turn_once"
            ),
        ]
        ordering = ["first_day", "position", "pk"]

    def __str__(self) -> str:
        return f"{self.person} from {self.first_day} to {self.last_day}"


class Ask(GardenRow):
    """One person asked for one frost night; ``rung`` counts the steps of the ladder from 1.

    The secret of its link is worked out from ``nonce`` and stands nowhere.
    """

    class State(models.TextChoices):
        """What came of it."""

        ASKED = "asked", "Asked, no answer yet"
        ACCEPTED = "accepted", "Accepted"
        DECLINED = "declined", "Declined"
        UNANSWERED = "unanswered", "No answer"
        PASSED_ON = "passed_on", "Passed on"
        CALLED_OFF = "called_off", "Called off"

    frost_night = models.ForeignKey(FrostNight, on_delete=models.PROTECT, related_name="asks")
    person = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="asks")
    rung = models.PositiveSmallIntegerField()
    state = models.CharField(max_length=10, choices=State, default=State.ASKED)
    nonce = models.UUIDField()
    asked_at = models.DateTimeField()
    answer_by = models.DateTimeField()
    answered_at = models.DateTimeField(null=True)
    passed_to = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["frost_night", "person"], name="ask_once_a_night")
        ]
        ordering = ["rung", "asked_at", "pk"]

    def __str__(self) -> str:
        return f"{self.person}: {self.get_state_display()}"
