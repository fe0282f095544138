"""A part may be called as its maker likes; its file is called as a file may be."""

import pytest

from bodygen.files.jigs import _file
from bodygen.folder.publish import PLAIN_NAME, Draft


@pytest.mark.parametrize(
    "name", ['mask the "big" one b right', "mask a/b: c?", "mask ..", "mask " + "x" * 119, "Öse 3"]
)
def test_every_name_gives_a_plain_file_and_two_alike_give_two(name, tmp_path):
    draft = Draft(tmp_path)
    for _ in range(3):
        file = _file(name, ".stl", draft)
        assert PLAIN_NAME.fullmatch(file)
        draft.add(file, "a mask")  # refuses what is taken already
    assert len(draft.purposes) == 3


def test_a_plain_name_stays_as_it_is(tmp_path):
    assert _file("mask back, right", ".stl", Draft(tmp_path)) == "mask-back-right.stl"
