"""Write what xclim computes for the station records to fixtures/xclim_outputs.json.

Run in the environment of the `reference` dependency group, from the top of the project:

    .venv-reference/bin/python tests/external/freeze_xclim_outputs.py
"""

import json
import sys
from pathlib import Path

import numpy as np

sys.path[:0] = [str(Path(__file__).parent), str(Path(__file__).parents[2])]

import xclim_answers  # noqa: E402

FIXTURE = Path(__file__).parent / "fixtures" / "xclim_outputs.json"
COMMAND = ".venv-reference/bin/python tests/external/freeze_xclim_outputs.py"


def main() -> None:
    """Compute and write the fixture."""
    answers = {name: xclim_answers.answers(name) for name in xclim_answers.RECORDS}
    content = {
        "made_by": COMMAND,
        "xclim": xclim_answers.version(),
        "numpy": np.__version__,
        "records": answers,
    }
    FIXTURE.write_text(json.dumps(content, indent=1) + "\n")


if __name__ == "__main__":
    main()
