"""STEP: header and product by the text of ISO 10303-21, the solid read back by the kernel's own reader."""

import re
import subprocess
import sys
from pathlib import Path

import pytest
from carved import body, tools

from bodygen.errors import DesignError
from bodygen.export.step import TIME_STAMP, write_step
from bodygen.solid.cut import cut_solid
from bodygen.solid.measure import solid_volume
from bodygen.solid.skin import body_solid

NAME = "Tarn perch 70"


@pytest.fixture(scope="module")
def solid():
    return cut_solid(body_solid(body()), tools())


@pytest.fixture
def path(solid, tmp_path):
    write_step(solid, tmp_path / "body.step", NAME)
    return tmp_path / "body.step"


@pytest.fixture
def text(path):
    return re.sub(r"\s*\n\s*", "", path.read_text("ascii"))


def test_the_schema_is_ap242(text):
    assert "FILE_SCHEMA(('AP242_MANAGED_MODEL_BASED_3D_ENGINEERING" in text


def test_the_header_is_ours_and_carries_no_clock(text):
    """FILE_NAME: name, time stamp, authors, organisations, preprocessor, originating system, authorisation."""
    fields = re.search(r"FILE_NAME\('(.*?)','(.*?)',\('(.*?)'\),\('(.*?)'\),'(.*?)','(.*?)','(.*?)'\)", text)
    name, stamp, author, organisation, _, system, authorisation = fields.groups()
    assert (name, stamp, author) == (NAME, TIME_STAMP, "bodygen")
    assert (organisation, authorisation) == ("none", "none")
    assert system.startswith("bodygen ")


def test_the_one_product_bears_the_name_and_no_counter(text):
    assert re.findall(r"=\s*PRODUCT\('(.*?)','(.*?)'", text) == [(NAME, NAME)]
    assert not re.search(r"translator|Open CASCADE (Model|Shape)", text)


def test_lengths_are_millimetres(text):
    """A named SI unit with the prefix milli, and no conversion-based unit (an inch would be one)."""
    assert re.search(r"LENGTH_UNIT\(\)\s*NAMED_UNIT\(\*\)\s*SI_UNIT\(\.MILLI\.,\.METRE\.\)", text)
    assert "CONVERSION_BASED_UNIT" not in text


def test_the_unit_stays_mm_whatever_was_set_before(solid, text, tmp_path):
    from OCP.Interface import Interface_Static

    Interface_Static.SetCVal_s("write.step.unit", "INCH")
    Interface_Static.SetCVal_s("write.step.schema", "AP214IS")
    write_step(solid, tmp_path / "after.step", NAME)
    assert re.sub(r"\s*\n\s*", "", (tmp_path / "after.step").read_text("ascii")) == text


def test_read_back_it_is_the_same_solid(path, solid):
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.STEPControl import STEPControl_Reader

    reader = STEPControl_Reader()
    assert reader.ReadFile(str(path)) == IFSelect_RetDone
    reader.TransferRoots()
    assert solid_volume(reader.OneShape()).volume == pytest.approx(solid_volume(solid).volume, rel=1e-6)


def test_written_twice_in_one_process_the_bytes_are_the_same(path, solid, tmp_path):
    write_step(solid, tmp_path / "again.step", NAME)
    assert (tmp_path / "again.step").read_bytes() == path.read_bytes()


def test_another_process_writes_the_same_bytes_and_nothing_on_stdout(path, tmp_path):
    script = (
        "import sys; from pathlib import Path; from carved import body, tools\n"
        "from bodygen.solid.skin import body_solid; from bodygen.solid.cut import cut_solid\n"
        "from bodygen.export.step import write_step\n"
        f"write_step(cut_solid(body_solid(body()), tools()), Path(sys.argv[1]), {NAME!r})\n"
    )
    other, here = tmp_path / "other.step", Path(__file__).parent.parent
    done = subprocess.run([sys.executable, "-c", script, other], cwd=here, capture_output=True, text=True, check=True)
    assert done.stdout == ""
    assert other.read_bytes() == path.read_bytes()


def test_two_solids_are_refused(tmp_path):
    from OCP.BRep import BRep_Builder
    from OCP.BRepPrimAPI import BRepPrimAPI_MakeBox
    from OCP.gp import gp_Pnt
    from OCP.TopoDS import TopoDS_Compound

    both, builder = TopoDS_Compound(), BRep_Builder()
    builder.MakeCompound(both)
    for x in (0.0, 20.0):
        builder.Add(both, BRepPrimAPI_MakeBox(gp_Pnt(x, 0.0, 0.0), 10.0, 10.0, 10.0).Shape())
    with pytest.raises(DesignError, match="2 separate pieces"):
        write_step(both, tmp_path / "two.step", NAME)
    assert not (tmp_path / "two.step").exists()


def test_a_skin_that_crosses_itself_is_refused(tmp_path):
    """A bow tie: reading would heal it, so BRepCheck must see it before it is written."""
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeFace, BRepBuilderAPI_MakePolygon
    from OCP.BRepPrimAPI import BRepPrimAPI_MakePrism
    from OCP.gp import gp_Pnt, gp_Vec

    outline = BRepBuilderAPI_MakePolygon()
    for x, y in ((0, 0), (40, 20), (40, 0), (0, 12)):
        outline.Add(gp_Pnt(x, y, 0))
    outline.Close()
    bow_tie = BRepPrimAPI_MakePrism(BRepBuilderAPI_MakeFace(outline.Wire()).Face(), gp_Vec(0, 0, 10)).Shape()
    with pytest.raises(DesignError, match="not valid"):
        write_step(bow_tie, tmp_path / "bow.step", NAME)


def test_a_disk_that_is_full_is_told(solid):
    """The kernel itself says nothing; /dev/full takes no byte."""
    full = Path("/dev/full")
    if not full.exists():
        pytest.skip("no /dev/full on this system")
    with pytest.raises(OSError, match="No space left"):
        write_step(solid, full, NAME)
