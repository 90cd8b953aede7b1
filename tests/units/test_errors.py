"""The words of a problem: a sentence, a remedy, a place."""

import pytest

from turnout_templates.errors import (
    InputProblems,
    LayoutError,
    OutputError,
    Problem,
    ordinal,
    spoken_path,
)


def test_a_problem_reads_as_in_the_design() -> None:
    problem = Problem(
        'The curve in "quarry" cannot give a No. 6 frog here; this site allows 3.1 to 5.2.',
        "Use a number in that range or a larger main radius.",
        ("routes", "quarry", "path", 0, "frog"),
        "tamsin.yaml",
        19,
        16,
    )
    assert str(problem) == (
        'The curve in "quarry" cannot give a No. 6 frog here; this site allows 3.1 to 5.2. Use a number in that range '
        "or a larger main radius. (tamsin.yaml:19:16, routes > quarry > path > 1st piece > frog)"
    )


@pytest.mark.parametrize(
    ("number", "word"),
    [
        (1, "1st"),
        (2, "2nd"),
        (3, "3rd"),
        (4, "4th"),
        (11, "11th"),
        (12, "12th"),
        (13, "13th"),
        (21, "21st"),
        (112, "112th"),
    ],
)
def test_ordinals(number: int, word: str) -> None:
    assert ordinal(number) == word


def test_places_are_left_out_where_they_are_not_known() -> None:
    assert str(Problem("This is empty.", "", (), "a.yaml")) == "This is empty. (a.yaml)"
    assert str(Problem("No.", "Do.")) == "No. Do."
    assert spoken_path(("routes", "main", "gauges", 1)) == "routes > main > gauges > 2nd entry"


def test_every_error_tells_its_values() -> None:
    two = InputProblems([Problem("One.", ""), Problem("Two.", "")])
    assert str(two) == "One.\nTwo." and len(two.problems) == 2
    assert str(LayoutError("It cannot.", "Do this.")) == "It cannot. Do this."
    assert str(OutputError("a.pdf", "the disk is full")) == "Cannot write a.pdf: the disk is full."
