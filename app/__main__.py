"""``python -m app`` is ``tucktrue``."""

import sys

from app.command_line import main

sys.exit(main())
