"""Settings of the torture: the site's own, and an app that moves the clock and widens the window.

TORTURE_DIR is the folder of the run: the clock's offset and the notes are there. TORTURE_LEASE
is how long a claim lasts, in seconds.
"""

import os

from garden_site.settings import *  # noqa: F403
from garden_site.settings import INSTALLED_APPS

TORTURE_DIR = os.environ["TORTURE_DIR"]
TORTURE_LEASE = float(os.environ["TORTURE_LEASE"])
INSTALLED_APPS = [*INSTALLED_APPS, "benchmarks.torture_app.TortureConfig"]
