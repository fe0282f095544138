"""Where drills, saws and kerfs go, and whether they leave enough wood."""

from bodygen.form.cuts.tools import MOUTH_MM, Prism, Revolved, Tool, bore_line, slot_of, square_to, tools_of

__all__ = ["MOUTH_MM", "Prism", "Revolved", "Tool", "bore_line", "slot_of", "square_to", "tools_of"]
