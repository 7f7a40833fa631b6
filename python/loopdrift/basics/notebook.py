"""HTML for results shown in notebooks: headings, sentences and small tables."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import pandas as pd


def heading(text: str) -> str:
    """Return a heading in HTML."""
    return f"<strong>{escape(text)}</strong>"


def sentences(texts: Iterable[str]) -> str:
    """Return sentences in HTML, each on its own lines, wrapped at the page width."""
    return "".join(f"<div style='white-space: normal'>{escape(text)}</div>" for text in texts)


def facts(rows: Iterable[tuple[str, str]]) -> str:
    """Return labels and texts as a table in HTML."""
    cells = "".join(
        f"<tr><th style='text-align: left; vertical-align: top'>{escape(label)}</th>"
        f"<td style='text-align: left; white-space: normal'>{escape(text)}</td></tr>"
        for label, text in rows
    )
    return f"<table>{cells}</table>"


def table(frame: pd.DataFrame, decimals: int = 2) -> str:
    """Return a table in HTML, with rounded numbers; missing values are empty."""
    html: str = frame.to_html(
        float_format=lambda value: f"{value:,.{decimals}f}", na_rep="", border=0, escape=True
    )
    return html
