"""loopdrift: the fluid that a buried loop hands to a heat pump, hour by hour, over decades."""

import lazy_loader

from loopdrift import _core

# The stub __init__.pyi lists the names with their modules, for type checkers too; each loads when first used.
__getattr__, __dir__, __all__ = lazy_loader.attach_stub(__name__, __file__)

__version__ = _core.VERSION
