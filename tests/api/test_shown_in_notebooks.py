"""What people leave at the end of a cell: one line of `repr`, and a page of HTML whose text is escaped."""

import pytest

import loopdrift as ld


@pytest.fixture(scope="module")
def shown(design, run):
    study = ld.Study(design, vary={"spacing": [4.0, 6.0]})
    return {
        "design": design,
        "run": run,
        "field": design.ground_side,
        "sizing": design.size(years=1),
        "study": study,
        "build-up": run.heat_build_up(),
        "recovery": run.recovery(1),
        "comparison": design.compare(ld.Site(), years=1),
    }


def test_a_repr_is_one_line_that_names_its_type(shown):
    for each in shown.values():
        assert repr(each).startswith(f"<{type(each).__name__}: ")
        assert "\n" not in repr(each)
        assert len(repr(each)) < 250


def test_what_notebooks_show_is_html(shown):
    for name, each in shown.items():
        if name != "field":
            assert each._repr_html_().startswith("<strong>")


def test_a_run_shows_its_chart(shown):
    assert "<svg" in shown["run"]._repr_html_()


def test_text_is_escaped():
    from loopdrift.basics import notebook

    assert notebook.facts([("<b>", "a & b")]).count("<b>") == 0
    assert "&lt;i&gt;" in notebook.sentences(["<i>"])


def test_the_version_is_the_engines():
    assert ld.__version__.count(".") == 2
