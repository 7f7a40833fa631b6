"""Long work takes the same `progress` everywhere: a bar, a function of the number done, or nothing."""

import inspect

import pytest

import loopdrift as ld

WORK = {
    "run": lambda design, progress: design.run(1, progress=progress),
    "heat_build_up": lambda design, progress: design.run(1).heat_build_up(progress=progress),
    "recovery": lambda design, progress: design.run(1).recovery(1, progress=progress),
    "size": lambda design, progress: design.size(years=1, progress=progress),
    "recharge": lambda design, progress: design.find_recharge(5.0, years=2, progress=progress),
    "compare": lambda design, progress: design.compare(ld.Site(), years=1, progress=progress),
    "study": lambda design, progress: ld.Study(design, vary={"depth": [90.0]}).run(1, progress=progress),
}
FUNCTIONS = (
    ld.Design.run,
    ld.Run.heat_build_up,
    ld.Run.recovery,
    ld.Design.size,
    ld.Design.find_recharge,
    ld.Design.compare,
    ld.Study.run,
)


@pytest.mark.parametrize("name", WORK)
def test_progress_is_a_bar_or_a_function(design, name, capfd) -> None:
    done: list[int] = []
    WORK[name](design, done.append)
    assert done == sorted(done)
    WORK[name](design, False)
    assert capfd.readouterr().err == ""
    WORK[name](design, True)
    assert "/s" in capfd.readouterr().err
    with pytest.raises(ld.InvalidInput, match="'loud': must be true, false or callable with"):
        WORK[name](design, "loud")


def test_progress_is_described_alike() -> None:
    for function in FUNCTIONS:
        text = " ".join(inspect.getdoc(function).split())
        assert (
            "progress : bool or callable, default False Whether to show a progress bar; or a function" in text
        )
        assert inspect.signature(function).parameters["progress"].default is False
