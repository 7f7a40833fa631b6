"""The site: pages in Markdown, docstrings, the command's own help and the notebooks, built into static HTML.

    python -m sphinx -W --keep-going python/docs python/docs/build

The notebooks are executed once and cached; `-D nb_execution_mode=off` builds without their output.
Nothing in the pages is loaded from elsewhere: equations are MathML, fonts and scripts are the theme's own.
"""

import os
import sys
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE / "extensions"))
os.environ.setdefault("MPLBACKEND", "module://matplotlib_inline.backend_inline")

import loopdrift  # noqa: E402

project = "loopdrift"
author = "The loopdrift authors"
copyright = "the loopdrift authors, MIT or Apache-2.0"
version = release = loopdrift.__version__

extensions = [
    "myst_nb",
    "sphinx.ext.autodoc",
    "sphinx.ext.autosummary",
    "numpydoc",
    "sphinx_click",
    "mathml",
    "generated_pages",
]
exclude_patterns = ["build", "extensions", "templates", "conf.py", "generated/book*"]
templates_path = ["templates"]
nitpicky = False

myst_enable_extensions = ["dollarmath", "colon_fence", "deflist"]
myst_heading_anchors = 3
nb_custom_formats = {".py": ["notebooks.read", {}]}
nb_execution_mode = "cache"
nb_execution_cache_path = str(HERE / "build" / "executed")
nb_execution_timeout = 600
nb_execution_raise_on_error = True
nb_merge_streams = True

autosummary_generate = True
autosummary_ignore_module_all = False
autodoc_typehints = "none"
autodoc_member_order = "alphabetical"
numpydoc_show_class_members = False
numpydoc_xref_param_type = False
default_role = "code"

html_theme = "pydata_sphinx_theme"
html_title = f"loopdrift {version}"
html_copy_source = False
html_show_sourcelink = False
html_static_path = ["static"]
html_css_files = ["loopdrift.css"]
html_sidebars = {"index": [], "gallery": []}
html_theme_options = {
    "logo": {"text": "loopdrift"},
    "navbar_end": ["theme-switcher"],
    "navigation_with_keys": False,
    "show_nav_level": 1,
    "show_toc_level": 2,
    "footer_start": ["copyright"],
    "footer_end": [],
    "secondary_sidebar_items": ["page-toc"],
    "pygments_light_style": "tango",
}
