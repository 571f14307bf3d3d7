"""House rules that a reader cannot be asked to check: each is one walk over the sources."""

import ast
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
APP = ROOT / "lifecycle"
LONGEST_MODULE = 400
CLOCKS = {
    *("datetime.now", "datetime.utcnow", "datetime.today", "date.today", "timezone.now"),
    *("timezone.localtime", "timezone.localdate", "time.time", "time.localtime", "time.gmtime"),
}


def modules(*places: Path) -> list[Path]:
    """The Python files below ``places``, without the generated migrations."""
    found = [path for place in places for path in sorted(place.rglob("*.py"))]
    return [path for path in found if "migrations" not in path.parts]


def room(*names: str) -> list[Path]:
    return modules(*(APP / name for name in names))


def breaches(paths: list[Path], wrong: Callable[[ast.Module], Iterator[ast.AST]]) -> list[str]:
    """Where ``wrong`` finds something, as file:line."""
    return [
        f"{path.relative_to(ROOT)}:{getattr(node, 'lineno', 1)}"
        for path in paths
        for node in wrong(ast.parse(path.read_text(), str(path)))
    ]


def calls(tree: ast.AST) -> Iterator[ast.Call]:
    return (node for node in ast.walk(tree) if isinstance(node, ast.Call))


def keywords(call: ast.Call) -> set[str]:
    return {keyword.arg for keyword in call.keywords if keyword.arg}


def delayed_jobs(tree: ast.Module) -> Iterator[ast.AST]:
    for call in calls(tree):
        if keywords(call) & {"countdown", "eta"} or ast.unparse(call.func) == "self.retry":
            yield call


def looks_at_clock(tree: ast.Module) -> Iterator[ast.AST]:
    for node in ast.walk(tree):
        if isinstance(node, ast.Attribute) and any(
            f".{ast.unparse(node)}".endswith(f".{clock}") for clock in CLOCKS
        ):
            yield node


def unscoped_lookups(tree: ast.Module) -> Iterator[ast.AST]:
    """Single rows fetched from all gardens: ``Model.objects.get(pk=…)`` and its kin.

    Whoever is signed in may always be read afresh.
    """
    for call in calls(tree):
        source = ast.unparse(call.func)
        if source == "Person.objects.get" and "reader(request).pk" in ast.unparse(call):
            continue
        if source.endswith("get_object_or_404"):
            target = ast.unparse(call.args[0]) if call.args else ""
            # Anything but a model's name or manager was scoped before it came here.
            if target[:1].isupper() and "visible_to" not in target:
                yield call
        elif (
            isinstance(call.func, ast.Attribute)
            and call.func.attr == "get"
            and {"objects", "_default_manager"} & set(source.split("."))
            and "visible_to" not in source
        ):
            yield call


def whole_row_saves(tree: ast.Module) -> Iterator[ast.AST]:
    """Saves that write every column of a row somebody else may have changed.

    A row is new, and saved whole with reason, when the same function built it by calling
    its class, or when the save insists on an insert.
    """
    functions = [
        node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    ]
    inside = {id(call): _built_in(function) for function in functions for call in calls(function)}
    for call in calls(tree):
        if not (isinstance(call.func, ast.Attribute) and call.func.attr == "save"):
            continue
        if keywords(call) & {"update_fields", "force_insert"}:
            continue
        if ast.unparse(call.func.value) not in inside.get(id(call), set()):
            yield call


def _built_in(function: ast.AST) -> set[str]:
    """Names that ``function`` gives to a fresh instance of a class."""
    return {
        ast.unparse(target)
        for node in ast.walk(function)
        if isinstance(node, ast.Assign)
        and isinstance(node.value, ast.Call)
        and ast.unparse(node.value.func).split(".")[-1][:1].isupper()
        for target in node.targets
    }


def undocumented(tree: ast.Module) -> Iterator[ast.AST]:
    if tree.body and not ast.get_docstring(tree):
        yield tree
    for node in tree.body:
        if not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef):
            continue
        # A management command says what it does in ``help``.
        private = node.name.startswith("_") or node.name == "Command"
        if not private and not ast.get_docstring(node):
            yield node


def test_no_job_is_delayed_or_retried_by_the_broker() -> None:
    assert not breaches(modules(APP, ROOT / "garden_site"), delayed_jobs)


def test_no_rule_looks_at_the_clock() -> None:
    timeless = room("agronomy", "handbook", "life", "care", "records")
    assert not breaches(timeless, looks_at_clock)


def test_pages_fetch_rows_only_among_those_the_person_may_see() -> None:
    assert not breaches(room("web"), unscoped_lookups)


def test_saves_name_the_columns_they_mean() -> None:
    assert not breaches(room("records", "reminders"), whole_row_saves)


def test_everything_public_says_what_it_is() -> None:
    assert not breaches(modules(APP), undocumented)


def test_no_module_is_longer_than_one_sitting() -> None:
    places = [APP, ROOT / "garden_site", ROOT / "tests", ROOT / "benchmarks"]
    lengths = {path: len(path.read_text().splitlines()) for path in modules(*places)}
    long = {path.relative_to(ROOT): n for path, n in lengths.items() if n > LONGEST_MODULE}
    assert not long


@pytest.mark.parametrize(
    "lock", sorted((ROOT / "requirements").glob("*.lock")), ids=lambda p: p.stem
)
def test_a_lock_names_no_address(lock: Path) -> None:
    assert "://" not in lock.read_text()


@pytest.mark.parametrize(
    ("rule", "source", "found"),
    [
        (delayed_jobs, "job.apply_async(countdown=5)", 1),
        (delayed_jobs, "self.retry()", 1),
        (delayed_jobs, "job.delay()", 0),
        (looks_at_clock, "today = date.today()", 1),
        (looks_at_clock, "f(clock=timezone.now)", 1),
        (looks_at_clock, "x = datetime.datetime.now(UTC)", 1),
        (looks_at_clock, "def f(now: datetime) -> date: return now.date()", 0),
        (unscoped_lookups, "Plant.objects.get(pk=1)", 1),
        (unscoped_lookups, "Plant.objects.select_related('site').get(uuid=u)", 1),
        (unscoped_lookups, "get_object_or_404(Plant, pk=1)", 1),
        (unscoped_lookups, "get_object_or_404(Plant.objects.filter(garden=g), pk=1)", 1),
        (unscoped_lookups, "get_object_or_404(Plant.objects.visible_to(p), pk=1)", 0),
        (unscoped_lookups, "Plant.objects.visible_to(p).get(pk=1)", 0),
        (unscoped_lookups, "request.GET.get('page')", 0),
        (unscoped_lookups, "Person.objects.get(pk=reader(request).pk)", 0),
        (unscoped_lookups, "Person.objects.get(pk=request.POST['person'])", 1),
        (whole_row_saves, "def f(p):\n p.name = 'x'\n p.save()", 1),
        (whole_row_saves, "def f(p):\n p.save(update_fields=['name'])", 0),
        (whole_row_saves, "def f():\n p = Plant(name='x')\n p.save()", 0),
        (whole_row_saves, "def f():\n p = Plant.objects.get(pk=1)\n p.save()", 1),
        (undocumented, '"""."""\ndef f(): ...', 1),
        (undocumented, '"""."""\ndef _f(): ...', 0),
    ],
)
def test_the_rule_finds_what_it_forbids(
    rule: Callable[[ast.Module], Iterator[ast.AST]], source: str, found: int
) -> None:
    assert len(list(rule(ast.parse(source)))) == found
