"""The package stands in floors: imports run one way, and no folder is crowded."""

from collections import Counter
from pathlib import Path

from importlinter.cli import lint_imports

import loopdrift

PACKAGE = Path(loopdrift.__path__[0])
ROOT = Path(__file__).parents[2]


def test_imports_run_one_way(monkeypatch):
    monkeypatch.chdir(ROOT)
    assert lint_imports(config_filename="pyproject.toml", cache_dir=None) == 0


def test_no_folder_is_crowded():
    modules = Counter(file.parent for file in PACKAGE.rglob("*.py") if file.name != "__init__.py")
    crowded = {str(folder.relative_to(PACKAGE)): count for folder, count in modules.items() if count > 12}
    assert not crowded
