"""Equations as MathML, which browsers show by themselves: no script and no font is loaded."""

from docutils import nodes
from docutils.utils.math.latex2mathml import tex2mathml
from sphinx.application import Sphinx
from sphinx.writers.html5 import HTML5Translator


def inline(writer: HTML5Translator, node: nodes.math) -> None:
    writer.body.append(tex2mathml(node.astext(), as_block=False))
    raise nodes.SkipNode


def block(writer: HTML5Translator, node: nodes.math_block) -> None:
    writer.body.append(f'<div class="math">{tex2mathml(node.astext(), as_block=True)}</div>')
    raise nodes.SkipNode


def setup(app: Sphinx) -> dict[str, bool]:
    app.add_html_math_renderer("mathml", (inline, None), (block, None))
    app.config.html_math_renderer = "mathml"
    return {"parallel_read_safe": True, "parallel_write_safe": True}
