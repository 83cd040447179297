"""``python -m app`` is ``tucktrue``."""

import sys

from app.start import main

sys.exit(main())
