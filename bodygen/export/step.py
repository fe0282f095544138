"""STEP AP242 through the CAD kernel: one solid, its own name, millimetres, no clock and no counter.

Knows the file's header and product. Knows nothing of how the solid came about; that it is sound is asked before it is
written, because a reader heals what it reads and would hide a fault from every check made afterwards.

References
----------
ISO 10303-21 (the text form and its header), ISO 10303-242 (managed model-based 3D engineering). The kernel writes both;
the fields of the header are checked against the text in the tests.
"""

from __future__ import annotations

from io import BytesIO
from typing import TYPE_CHECKING

from bodygen.errors import BodygenError
from bodygen.solid.skin import sound
from bodygen.version import VERSION

if TYPE_CHECKING:
    from pathlib import Path

    from OCP.STEPControl import STEPControl_Writer
    from OCP.TCollection import TCollection_HAsciiString
    from OCP.TopoDS import TopoDS_Shape

TIME_STAMP = "2000-01-01T00:00:00"
"""A fixed date, as the header must have one: with a clock no two builds are alike."""


def write_step(shape: TopoDS_Shape, path: Path, name: str, *, known_sound: bool = False) -> None:
    """Write one solid [mm] under its name; the same solid and name give the same bytes.

    Letters outside ASCII become "?" in the name. ``known_sound``: it is what ``solid.skin.sound`` returned.

    Raises
    ------
    DesignError
        When the shape is not exactly one valid solid.
    BodygenError
        When the kernel refuses to translate it.
    OSError
        When the file cannot be written.
    """
    # 2 to 5 s to load: only a build that writes CAD files pays for it
    from OCP.IFSelect import IFSelect_RetDone
    from OCP.Interface import Interface_Static
    from OCP.STEPControl import STEPControl_StepModelType, STEPControl_Writer

    solid = shape if known_sound else sound(shape)
    _hold_the_kernels_tongue()
    writer = STEPControl_Writer()  # made first: it brings the settings into being
    for key, value in (("write.step.schema", "AP242DIS"), ("write.step.unit", "MM"), ("xstep.cascade.unit", "MM")):
        Interface_Static.SetCVal_s(key, value)
    writer = STEPControl_Writer()
    if writer.Transfer(solid, STEPControl_StepModelType.STEPControl_AsIs) != IFSelect_RetDone:
        msg = f"the CAD kernel could not translate {name} to STEP"
        raise BodygenError(msg)
    _sign(writer, name)
    # through memory: the kernel does not say when a disk is full, Python does
    text = BytesIO()
    if writer.WriteStream(text) != IFSelect_RetDone:
        msg = f"the CAD kernel could not write {name} as STEP"
        raise BodygenError(msg)
    path.write_bytes(text.getvalue())


def _sign(writer: STEPControl_Writer, name: str) -> None:
    """Put our own words where the kernel has placeholders, a counter and the clock."""
    from OCP.APIHeaderSection import APIHeaderSection_MakeHeader
    from OCP.StepBasic import StepBasic_Product

    model = writer.Model()
    for i in range(1, model.NbEntities() + 1):
        entity = model.Value(i)
        if isinstance(entity, StepBasic_Product):
            entity.SetId(_text(name))
            entity.SetName(_text(name))
            break  # one solid is one product, and it stands near the beginning of some thousand entities
    head = APIHeaderSection_MakeHeader(model)
    head.SetName(_text(name))
    head.SetTimeStamp(_text(TIME_STAMP))
    head.SetDescriptionValue(1, _text("wooden diving bait, one solid, unit mm"))
    head.SetAuthorValue(1, _text("bodygen"))
    head.SetOrganizationValue(1, _text("none"))
    head.SetOriginatingSystem(_text(f"bodygen {VERSION}"))
    head.SetAuthorisation(_text("none"))


def _text(words: str) -> TCollection_HAsciiString:
    from OCP.TCollection import TCollection_HAsciiString

    return TCollection_HAsciiString(words.encode("ascii", "replace").decode("ascii"))


def _hold_the_kernels_tongue() -> None:
    """The kernel reports every step on stdout, where only our answer belongs; failures alone may speak."""
    from OCP.Message import Message, Message_Gravity

    for printer in Message.DefaultMessenger_s().Printers():
        printer.SetTraceLevel(Message_Gravity.Message_Fail)
