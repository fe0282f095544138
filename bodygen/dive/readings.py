"""Dives that were measured: what the log keeps of one, and what its rows say again to the next estimate.

Knows records of the log and estimates. Learns nothing itself (``spread.py``).
"""

import json
from collections.abc import Sequence
from dataclasses import replace

from bodygen.dive.asked import DiveAsked, MeasuredDive, usual_tip
from bodygen.dive.estimate import Estimate, given
from bodygen.dive.spread import Conditions, DiveReading, LipFamily
from bodygen.log.record import Build, WaterTest


def asked_in(test: WaterTest) -> DiveAsked:
    """The conditions that a depth of the log was measured under [mm, m, m/s]: cast and drawn home unless it says so."""
    if test.line_mm is None or test.line_out_m is None or test.speed_m_s is None:
        return DiveAsked(None, test.speed_m_s, ("line, line out and speed",))
    assumed = test.tip_height_m is None
    tip = usual_tip() if test.tip_height_m is None else test.tip_height_m
    conditions = Conditions(test.how or "retrieve", test.line_mm, test.line_out_m, test.speed_m_s, tip)
    return DiveAsked(conditions, test.speed_m_s, tip_assumed=assumed)


def with_told(test: WaterTest, e: Estimate) -> WaterTest:
    """The test with what the model says of that dive [m], its lip's family and all that the model was given.

    Notes
    -----
    Elementary; what was learned from others is left out, so that each row teaches by itself.
    """
    conditions, family = e.asked.conditions, e.runs.family
    if conditions is None:
        return test
    return replace(
        test,
        how=conditions.how,
        tip_height_m=conditions.tip_height_m,
        told_m=e.modelled_m,
        lip_kind=family.kind if family else None,
        lip_tie=family.tie if family else None,
        lip_angle_deg=family.angle_deg if family else None,
        dive_inputs=json.dumps(given(e), separators=(",", ":")) if e.runs.inputs else None,
    )


def dive_readings(builds: Sequence[Build]) -> tuple[list[DiveReading], int]:
    """Every dive of the log that was measured and told [m]; and how many depths teach nothing, as nothing was told."""
    readings, silent = [], 0
    for build in builds:
        for test in build.water_tests:
            if not test.depth_m:
                continue
            conditions, family = asked_in(test).conditions, _family(test)
            if test.told_m is None or family is None or conditions is None:
                silent += 1
                continue
            bait = f"build {build.number}"
            readings.append(DiveReading(bait, test.day, family, conditions, test.depth_m, test.told_m))
    return readings, silent


def just_measured(measured: MeasuredDive, e: Estimate) -> DiveReading | None:
    """A dive told on the command line as a reading [m]; None where the model tells no depth for it.

    All of one command line are one bait on one day.
    """
    if e.modelled_m is None or e.runs.family is None:
        return None
    return DiveReading("this one", "today", e.runs.family, measured.conditions, measured.depth_m, e.modelled_m)


def _family(test: WaterTest) -> LipFamily | None:
    if test.lip_kind is None or test.lip_tie is None or test.lip_angle_deg is None:
        return None
    return LipFamily(test.lip_kind, test.lip_tie, test.lip_angle_deg)
