"""The whole flow as the search asks for it, and the perch to ask it about."""

from pathlib import Path

import pytest

from bodygen import pipeline
from bodygen.assessment import answer_of
from bodygen.recipe.read import read_recipe

PARAMS = Path(__file__).parents[2] / "params"


@pytest.fixture(scope="session")
def ask():
    return lambda recipe: answer_of(pipeline.assess(recipe))


@pytest.fixture(scope="session")
def params():
    return PARAMS


@pytest.fixture(scope="session")
def perch():
    return read_recipe(PARAMS / "tarn-perch-70.toml")


@pytest.fixture(scope="session")
def perch_answer(ask, perch):
    return ask(perch)
