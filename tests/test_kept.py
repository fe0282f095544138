"""What is kept: asked for once, forgotten by age, never where it failed."""

import pytest

from bodygen.kept import MOST, Kept


def test_an_answer_is_made_once_and_a_failure_is_not_kept():
    kept, made = Kept(), []
    assert [kept.of("a", lambda: made.append(1) or 7) for _ in range(3)] == [7, 7, 7]
    assert len(made) == 1
    with pytest.raises(ZeroDivisionError):
        kept.of("b", lambda: 1 / 0)
    assert kept.of("b", lambda: 8) == 8


def test_the_oldest_answers_go():
    kept = Kept()
    for i in range(MOST + 5):
        kept.of(i, lambda i=i: i)
    assert kept.of(4, lambda: "anew") == "anew"
    assert kept.of(MOST, lambda: "anew") == MOST


def test_of_large_answers_only_a_few_are_kept():
    kept = Kept(2)
    for i in range(3):
        kept.of(i, lambda i=i: i)
    assert kept.of(0, lambda: "anew") == "anew"
    assert kept.of(2, lambda: "anew") == 2
