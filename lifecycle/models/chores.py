"""Work that no plant asks for: once, or again and again on the garden's own clock."""

from django.db import models
from django.db.models import Q

from lifecycle.models.scoping import GardenRow


class Chore(GardenRow):
    """A job a coordinator made, for a site, a place of it, or one plant.

    Days are local days of the site and ``at_time`` its wall time, None: any time of the day.
    Of a repeated chore ``first_day`` is its first day, ``every`` counts its units. An anchored
    chore falls ``days_from_anchor`` days from its anchor each year (negative: before it).
    ``minutes`` is what it takes one person; ``skill`` a key of ``care.skills.SKILLS`` or "".
    ``starter`` is the key of the starter list it came from, or "".
    """

    class Repeat(models.TextChoices):
        """How often it comes."""

        ONCE = "once", "Once"
        DAYS = "days", "Every so many days"
        WEEKS = "weeks", "Every so many weeks"
        MONTHS = "months", "Every so many months"
        YEARS = "years", "Every year"
        HARD_FREEZE = "hard_freeze", "Every year, before the first hard freeze"
        LAST_HARD_FREEZE = "last_freeze", "Every year, after the last hard freeze"

    site = models.ForeignKey("lifecycle.Site", on_delete=models.PROTECT, related_name="chores")
    place = models.ForeignKey(
        "lifecycle.Place", null=True, blank=True, on_delete=models.PROTECT, related_name="chores"
    )
    plant = models.ForeignKey(
        "lifecycle.Plant", null=True, blank=True, on_delete=models.PROTECT, related_name="chores"
    )
    title = models.CharField(max_length=60)
    how = models.CharField(max_length=500, blank=True)
    repeat = models.CharField(max_length=12, choices=Repeat, default=Repeat.ONCE)
    every = models.PositiveSmallIntegerField(default=1)
    first_day = models.DateField()
    last_day = models.DateField(null=True, blank=True)
    days_from_anchor = models.SmallIntegerField(default=0)
    days_open = models.PositiveSmallIntegerField(default=3)
    at_time = models.TimeField(null=True, blank=True)
    minutes = models.PositiveSmallIntegerField(default=30)
    skill = models.CharField(max_length=12, blank=True)
    starter = models.CharField(max_length=24, blank=True)
    made_by = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    made_at = models.DateTimeField()
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        "lifecycle.Person", null=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(every__gte=1) & Q(minutes__gte=1), name="chore_counts"
            ),
            models.CheckConstraint(
                condition=Q(last_day__isnull=True) | Q(last_day__gte=models.F("first_day")),
                name="chore_days_in_order",
            ),
            models.UniqueConstraint(
                fields=["site", "starter"],
                condition=Q(ended_at__isnull=True) & ~Q(starter=""),
                name="chore_starter_once",
            ),
        ]
        ordering = ["title", "pk"]

    def __str__(self) -> str:
        return self.title


class Away(GardenRow):
    """A member is away from one day to another; ``cover`` does their work meanwhile, if named.

    ``made_at`` is when it was entered, or its cover was last asked.
    """

    person = models.ForeignKey("lifecycle.Person", on_delete=models.PROTECT, related_name="+")
    first_day = models.DateField()
    last_day = models.DateField()
    cover = models.ForeignKey(
        "lifecycle.Person", null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    cover_agreed_at = models.DateTimeField(null=True, blank=True)
    made_at = models.DateTimeField()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=Q(last_day__gte=models.F("first_day")), name="away_in_order"
            ),
            models.CheckConstraint(
                condition=Q(cover__isnull=True) | ~Q(cover=models.F("person")),
                name="away_cover_is_another",
            ),
        ]
        ordering = ["first_day", "pk"]

    def __str__(self) -> str:
        return f"{self.person} away from {self.first_day} to {self.last_day}"
