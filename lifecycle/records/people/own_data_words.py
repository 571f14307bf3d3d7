"""What the codes in a download of one's own data mean, in plain words."""

from collections.abc import Iterable

from lifecycle.care.catalogue import STEP_RULES
from lifecycle.care.skills import SKILLS
from lifecycle.handbook import CROPS, MATERIALS
from lifecycle.life.kinds import RULES
from lifecycle.life.phases import PHASE_LABELS
from lifecycle.models import Ask, GivenAway, HandOver, Message, Person, Role, Task, TaskEvent


def code_words() -> dict[str, dict[str, str]]:
    """Return for each table and column that holds codes what each code means.

    The same code may stand for different things in different columns.
    """
    kinds = {str(kind): rule.label for kind, rule in RULES.items()}
    steps = {kind: rule.label for kind, rule in STEP_RULES.items()}
    return {
        "about_you, temperature": _labels(Person.Temperature.choices),
        "about_you, length": _labels(Person.Length.choices),
        "memberships, role": _labels(Role.choices),
        "memberships, skills": dict(SKILLS),
        "messages_chosen and messages, kind": _labels(Message.Kind.choices),
        "messages_chosen and messages, channel": _labels(Message.Channel.choices),
        "messages, state": _labels(Message.State.choices),
        "entries, kind": kinds,
        "entries, choice": _choices(),
        "entries, material": {key: each.label for key, each in MATERIALS.items()},
        "plants_held, phase": {str(phase): words for phase, words in PHASE_LABELS.items()},
        "tasks, what, and task_history, task": steps,
        "tasks, state": _labels(Task.State.choices),
        "task_history, act": _labels(TaskEvent.Act.choices),
        "given_away, to": _labels(GivenAway.To.choices),
        "given_away, crop": {key: crop.label for key, crop in CROPS.items()},
        "asks, state": _labels(Ask.State.choices),
        "hand_overs, state": _labels(HandOver.State.choices),
    }


def _labels(choices: Iterable[tuple[str, object]]) -> dict[str, str]:
    return {code: str(words) for code, words in choices}


def _choices() -> dict[str, str]:
    """Return the choices of entries; one code may be chosen in several kinds, each in its words."""
    found: dict[str, dict[str, None]] = {}
    for rule in RULES.values():
        for code, words in rule.choices.items():
            found.setdefault(code, {})[words] = None
    return {code: "; or ".join(words) for code, words in found.items()}
