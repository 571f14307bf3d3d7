"""For the operator's monitor: is the process up, can it serve, and do the ticks run?"""

import time
from datetime import timedelta

from django.conf import settings
from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from lifecycle.reminders.heartbeats import Pulse, Tick, ticks_at

STARTED = time.monotonic()


@login_not_required
@never_cache
@require_safe
def healthz(request: HttpRequest) -> HttpResponse:
    """Answer while the process runs; touches nothing else."""
    return HttpResponse("ok\n", content_type="text/plain")


@login_not_required
@never_cache
@require_safe
def readyz(request: HttpRequest) -> HttpResponse:
    """Answer 200 when the database answers, is up to date, and the ticks run."""
    try:
        executor = MigrationExecutor(connection)
        waiting = executor.migration_plan(executor.loader.graph.leaf_nodes())
        ticks = [] if waiting else ticks_at(timezone.now())
    except DatabaseError:
        return JsonResponse({"database": "no answer"}, status=503)
    missing = [tick.name for tick in ticks if _is_missing(tick, up_for())]
    state = {
        "database": "ok",
        "migrations": "ok" if not waiting else f"{len(waiting)} to apply",
        "ticks": f"late: {', '.join(missing)}" if missing else "ok",
        "heartbeats": {tick.name: tick.at.isoformat() for tick in ticks if tick.at is not None},
    }
    return JsonResponse(state, status=503 if waiting or missing else 200)


def up_for() -> timedelta:
    """Return how long this process has been serving."""
    return timedelta(seconds=time.monotonic() - STARTED)


def _is_missing(tick: Tick, up: timedelta) -> bool:
    """Return whether a tick should have been heard of by now.

    A site that was off for a night is ready as soon as it is up: its ticks get as long as
    they would be waited for anyway.
    """
    if up <= tick.patience:
        return False
    return tick.pulse is Pulse.LATE or (tick.pulse is Pulse.NEVER and settings.READY_NEEDS_TICKS)
