"""Checks of the built site: no page loads anything from elsewhere, and each has what phones and readers need.

python tests/repository/built_pages.py python/docs/build
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

OUTSIDE = r"(?:https?:)?//"
LOADING = {
    ".html": re.compile(
        rf"<(?:script|img|iframe|source|video|audio|embed|object)\b[^>]+(?:src|data)=[\"']{OUTSIDE}[^\"']+"
        rf"|<link\b[^>]+href=[\"']{OUTSIDE}[^\"']+"
    ),
    ".css": re.compile(rf"@import[^;]*{OUTSIDE}[^;]+|url\([\"']?{OUTSIDE}[^)]+"),
}
FEWEST_PAGES = 150


def faults(folder: Path) -> list[str]:
    """Return what is wrong with the pages of a site."""
    found = []
    templates = folder / "_static"  # of the theme; no page
    pages = {path for path in folder.rglob("*.html") if not path.is_relative_to(templates)}
    if len(pages) < FEWEST_PAGES:
        found.append(f"only {len(pages)} pages")
    for path in sorted(path for suffix in LOADING for path in folder.rglob(f"*{suffix}")):
        text = path.read_text(encoding="utf-8", errors="replace")
        found += [f"{path.relative_to(folder)}: {load}" for load in LOADING[path.suffix].findall(text)]
        if path in pages and "width=device-width" not in text:
            found.append(f"{path.relative_to(folder)}: no width for phones")
    return found


if __name__ == "__main__":
    wrong = faults(Path(sys.argv[1]))
    print(*wrong or ["the site loads nothing from elsewhere"], sep="\n")
    sys.exit(bool(wrong))
