"""Bolts: the torque that gives a preload, and the preload that a torque gives."""

from __future__ import annotations

from app.calculations.calculation import Answer, Calculation, Input, Values, amount, output
from app.calculations.rounding import short
from app.calculations.threads import (
    PROOF_STRESS,
    Thread,
    long_torque,
    proof_stress,
    short_torque,
    yield_preload,
)

CARE = (
    "Torque gives a preload that scatters by 25 % and more with the friction. Where the preload "
    "itself matters, measure the stretch. The joint's own drawing comes first."
)
VDI_SOURCE = (
    "VDI 2230 Part 1. The form is from memory; it gives the guideline's own printed table again "
    "within 0.5 %."
)


def _thread(given: Values) -> Thread:
    thread = Thread(diameter=given["diameter"], pitch=given["pitch"])
    if thread.pitch > thread.diameter / 3:
        raise ValueError("The pitch is more than a third of the diameter: no metric thread is so.")
    return thread


def _torque(given: Values) -> Answer:
    force, d, factor = given["preload"], given["diameter"], given["nut_factor"]
    torque = short_torque(force, d, factor)
    working = f"T = K F d = {factor:g} x {short(force)} kN x {d:g} mm = {short(torque)} N m."
    return Answer(values=(torque,), working=(working,))


def _preload(given: Values) -> Answer:
    torque, d, factor = given["torque"], given["diameter"], given["nut_factor"]
    force = torque / (factor * d)
    share = 100 * force / given["proof_load"]
    working = (
        f"F = T / (K d) = {torque:g} N m / ({factor:g} x {d:g} mm) = {short(force)} kN.",
        f"Of the proof load, {given['proof_load']:g} kN: {short(share, 3)} %.",
    )
    return Answer(values=(force, share), working=working)


def _proof_load(given: Values) -> Answer:
    thread, grade = _thread(given), given.word("grade")
    stress = proof_stress(grade, thread.diameter)
    load = stress * thread.stress_area / 1000
    working = (
        f"Stress area {short(thread.stress_area)} mm2, proof stress of class {grade}: {stress:g} MPa.",
        f"{short(thread.stress_area)} mm2 x {stress:g} MPa = {short(load)} kN.",
    )
    return Answer(values=(load, thread.stress_area), working=working)


def _mean_head(given: Values) -> float:
    outer, hole = given["bearing_diameter"], given["hole_diameter"]
    if hole >= outer:
        raise ValueError("The hole is as wide as the bearing surface: nothing is left to bear.")
    return (outer + hole) / 2


def _lever(given: Values) -> tuple[float, tuple[str, ...]]:
    """Return torque over preload, mm, and how it comes about."""
    thread, head = _thread(given), _mean_head(given)
    lever = long_torque(thread, head, given["thread_friction"], given["head_friction"])
    working = (
        f"d2 = d - 0.6495 P = {short(thread.pitch_diameter)} mm. DKm = {short(head)} mm.",
        f"0.16 P + 0.58 d2 uG + DKm/2 uK = {short(lever)} mm, which is N m for each kN.",
    )
    return lever, working


def _long_torque(given: Values) -> Answer:
    lever, working = _lever(given)
    torque = lever * given["preload"]
    last = f"M = {given['preload']:g} kN x {short(lever)} mm = {short(torque)} N m."
    return Answer(values=(torque,), working=(*working, last))


def _long_preload(given: Values) -> Answer:
    lever, working = _lever(given)
    force = given["torque"] / lever
    last = f"F = {given['torque']:g} N m / {short(lever)} mm = {short(force)} kN."
    return Answer(values=(force,), working=(*working, last))


def _yield_preload(given: Values) -> Answer:
    thread, share = _thread(given), given.get("share", 90)
    force = yield_preload(thread, given["yield_stress"], given["thread_friction"], share / 100)
    working = (
        f"d0 = (d2 + d3) / 2 = {short(thread.stress_diameter)} mm. "
        f"Stress area {short(thread.stress_area)} mm2.",
        f"At {share:g} % of {given['yield_stress']:g} MPa, torsion reckoned in: {short(force)} kN.",
    )
    return Answer(values=(force, thread.stress_area), working=working)


def _friction(name: str, title: str) -> Input:
    return amount(name, title, low="0.04", high="0.5", hint="About 0.10 greased, 0.12 oiled.")


_DIAMETER = amount("diameter", "Nominal diameter", "mm", low="1", high="150")
_PITCH = amount("pitch", "Pitch", "mm", low="0.2", high="10")
_NUT = amount(
    "nut_factor",
    "Nut factor K",
    low="0.05",
    high="0.5",
    hint="About 0.20 dry, 0.12 to 0.16 greased.",
)
_PRELOAD = amount("preload", "Preload", "kN", above="0", high="20000")
_TORQUE = amount("torque", "Torque", "N m", above="0", high="50000")
_HEAD = (
    _DIAMETER,
    _PITCH,
    _friction("thread_friction", "Friction in the thread"),
    _friction("head_friction", "Friction under the head"),
    amount("bearing_diameter", "Outer diameter of the bearing surface", "mm", above="0"),
    amount("hole_diameter", "Diameter of the hole", "mm", above="0"),
)
_LONG = "M = F (0.16 P + 0.58 d2 uG + DKm/2 uK), d2 = d - 0.6495 P, DKm = (dw + dh) / 2"
_TEXTBOOK = "Textbook short form, from memory."

SUMS = (
    Calculation(
        name="bolt-torque",
        title="Bolt torque, short form",
        subject="Bolts",
        inputs=(_PRELOAD, _DIAMETER, _NUT),
        outputs=(output("torque", "Torque", "N m", "0.01"),),
        work=_torque,
        formula="T = K F d",
        source=_TEXTBOOK,
        care=CARE,
    ),
    Calculation(
        name="bolt-preload",
        title="Bolt preload, short form",
        subject="Bolts",
        inputs=(
            _TORQUE,
            _DIAMETER,
            _NUT,
            amount("proof_load", "Proof load of the bolt", "kN", above="0", hint="ISO 898-1."),
        ),
        outputs=(
            output("preload", "Preload", "kN", "0.1"),
            output("share", "Share of the proof load", "%", "0.1"),
        ),
        work=_preload,
        formula="F = T / (K d)",
        source=_TEXTBOOK,
        care=CARE,
    ),
    Calculation(
        name="bolt-proof-load",
        title="Proof load of a bolt",
        subject="Bolts",
        inputs=(
            _DIAMETER,
            _PITCH,
            Input(name="grade", title="Class", form="choice", choices=tuple(PROOF_STRESS)),
        ),
        outputs=(
            output("proof_load", "Proof load", "kN", "0.1"),
            output("stress_area", "Stress area", "mm^2", "0.1"),
        ),
        work=_proof_load,
        formula="Fp = Sp pi/4 ((d2 + d3) / 2)^2",
        source="EN ISO 898-1:2013, as a fastener maker prints it.",
        care="A bolt that was ever tightened beyond it is thrown away.",
    ),
    Calculation(
        name="bolt-torque-long",
        title="Bolt torque, long form",
        subject="Bolts",
        inputs=(_PRELOAD, *_HEAD),
        outputs=(output("torque", "Torque", "N m", "0.1"),),
        work=_long_torque,
        formula=_LONG,
        source=VDI_SOURCE,
        care=CARE,
    ),
    Calculation(
        name="bolt-preload-long",
        title="Bolt preload, long form",
        subject="Bolts",
        inputs=(_TORQUE, *_HEAD),
        outputs=(output("preload", "Preload", "kN", "0.1"),),
        work=_long_preload,
        formula=_LONG,
        source=VDI_SOURCE,
        care=CARE,
    ),
    Calculation(
        name="bolt-preload-yield",
        title="Greatest preload of a bolt",
        subject="Bolts",
        inputs=(
            _DIAMETER,
            _PITCH,
            amount("yield_stress", "Yield stress Rp0.2", "MPa", low="100", high="1500"),
            _friction("thread_friction", "Friction in the thread"),
            amount(
                "share",
                "Share of the yield stress",
                "%",
                above="0",
                high="100",
                optional=True,
                hint="Left out: 90 %.",
            ),
        ),
        outputs=(
            output("preload", "Preload", "kN", "0.1"),
            output("stress_area", "Stress area", "mm^2", "0.1"),
        ),
        work=_yield_preload,
        formula="F = v Rp0.2 A0 / sqrt(1 + 3 [1.5 d2/d0 (P/(pi d2) + 1.155 uG)]^2)",
        source=VDI_SOURCE,
        care=CARE,
    ),
)
