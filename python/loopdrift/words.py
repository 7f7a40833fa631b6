"""Words with numbers."""


def counted(number: int, noun: str) -> str:
    """Return a number of things, such as ``6 bores``."""
    if number == 1:
        return f"{number} {noun}"
    return f"{number} {noun}es" if noun.endswith("ch") else f"{number} {noun}s"
