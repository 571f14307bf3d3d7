"""For the operator's monitor: is the process up, and can it serve?"""

from django.contrib.auth.decorators import login_not_required
from django.db import DatabaseError, connection
from django.db.migrations.executor import MigrationExecutor
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from lifecycle.models import Heartbeat


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
    """Answer 200 when the database answers and is up to date; list when the ticks last ran."""
    try:
        executor = MigrationExecutor(connection)
        waiting = executor.migration_plan(executor.loader.graph.leaf_nodes())
        beats = {} if waiting else dict(Heartbeat.objects.values_list("name", "at"))
    except DatabaseError:
        return JsonResponse({"database": "no answer"}, status=503)
    state = {
        "database": "ok",
        "migrations": "ok" if not waiting else f"{len(waiting)} to apply",
        "heartbeats": {name: at.isoformat() for name, at in sorted(beats.items())},
    }
    return JsonResponse(state, status=503 if waiting else 200)
