"""What the command's exit code means, other than 0."""

from __future__ import annotations

NOTHING_HOLDS = 1
BAD_INPUT = 2
INTERRUPTED = 130
