"""``python -m roof3d``."""

from __future__ import annotations

import sys

from roof3d.cli.app import main

if __name__ == "__main__":
    sys.exit(main())
