"""Notebooks kept as text, with the name of their language, which the pages need to colour their cells."""

from typing import Any

import jupytext


def read(text: str) -> Any:
    notebook = jupytext.reads(text, fmt="py:percent")
    notebook.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3", "language": "python"}
    notebook.metadata["language_info"] = {"name": "python", "pygments_lexer": "ipython3"}
    return notebook
