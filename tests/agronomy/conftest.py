"""Lets these tests find their made-up records whatever the import mode."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
