"""Why a task cannot be had any more: who took it, who closed it and when."""

from datetime import datetime
from zoneinfo import ZoneInfo

from lifecycle.care.wording import short_date
from lifecycle.models import Task
from lifecycle.records.refusal import Refused


def closed_words(task: Task, now: datetime) -> str:
    """Return who closed a task and when, on the site's clock: "Done by Ana at 10:42."."""
    who = str(task.closed_by) if task.closed_by else ""
    when = moment_words(task, now)
    if task.state == Task.State.DONE:
        return f"Done{f' by {who}' if who else ''}{when}."
    if task.state == Task.State.CANNOT:
        return f"{who or 'Somebody'} said{when} that it cannot be done: {task.closed_why}."
    return task.closed_why or "It was withdrawn."


def moment_words(task: Task, now: datetime) -> str:
    """Return when a task was closed: " at 10:42" today, " on 12 October" before."""
    if task.closed_at is None:
        return ""
    day, today = task.site.local_day(task.closed_at), task.site.local_day(now)
    if day == today:
        return f" at {task.closed_at.astimezone(ZoneInfo(task.site.time_zone)):%H:%M}"
    return f" on {short_date(day, today)}"


def open_or_refuse(task: Task, now: datetime) -> None:
    """Raise Refused, saying who closed it, unless the task is open."""
    if task.state != Task.State.OPEN:
        raise Refused(f"{closed_words(task, now)} This task is no longer open.")
