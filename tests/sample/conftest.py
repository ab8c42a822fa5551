"""Makes this folder's helpers importable whatever folder pytest was started in."""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
