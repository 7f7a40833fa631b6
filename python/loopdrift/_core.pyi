"""The compiled engine; private, reached through the modules of `loopdrift`."""

from typing import Any, Final

VERSION: Final[str]

def quantities(owner: str) -> list[tuple[str, str, float, float]]: ...
def validate(owner: str, values: dict[str, Any]) -> None: ...
