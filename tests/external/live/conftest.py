"""The live comparison runs in the reference environment, where this project is not installed."""

import sys
import warnings
from pathlib import Path

HERE = Path(__file__).parent
sys.path[:0] = [str(HERE.parent), str(HERE.parents[2])]

# xclim is not part of the project's own environment; its frozen outputs are checked there.
try:
    with warnings.catch_warnings():
        # Its plotting support is not installed, and it says so on import.
        warnings.simplefilter("ignore")
        import xclim  # noqa: F401
except ImportError:
    collect_ignore = ["test_xclim_live.py"]
