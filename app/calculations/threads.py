"""A metric thread: its areas and its strength, what torque gives which preload."""

from __future__ import annotations

import math
from dataclasses import dataclass

PITCH_DIAMETER = 0.649519  # d - d2 over the pitch: 3/8 sqrt 3, ISO 724 (from memory)
CORE_DIAMETER = 1.226869  # d - d3 over the pitch: 17/24 sqrt 3, ISO 724 (from memory)
VDI_PITCH = 0.16  # 1 / (2 pi), as VDI 2230 rounds it
VDI_THREAD = 0.58  # 1 / (2 cos 30 deg), as VDI 2230 rounds it
VDI_SHEAR = 1.155  # 1 / cos 30 deg
PLASTIC_TORSION = 1.5  # torsion of a section that yields all over, VDI 2230 (from memory)

# Proof stress, MPa: EN ISO 898-1:2013, table of mechanical properties, row 5, as a fastener maker
# prints it. Up to M16, and above.
PROOF_STRESS = {"8.8": (580.0, 600.0), "10.9": (830.0, 830.0), "12.9": (970.0, 970.0)}
LARGEST_SMALL = 16.0  # mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Thread:
    """A metric thread: its nominal diameter and pitch, mm."""

    diameter: float
    pitch: float

    @property
    def pitch_diameter(self) -> float:
        """Return d2, mm."""
        return self.diameter - PITCH_DIAMETER * self.pitch

    @property
    def stress_diameter(self) -> float:
        """Return (d2 + d3) / 2, mm."""
        return (self.pitch_diameter + self.diameter - CORE_DIAMETER * self.pitch) / 2

    @property
    def stress_area(self) -> float:
        """Return the stress area, mm2.

        Source: ISO 898-1, pi/4 ((d2 + d3)/2)^2. Its table is rounded, within 0.3 % of this.
        """
        return math.pi / 4 * self.stress_diameter**2


def proof_stress(grade: str, diameter_mm: float) -> float:
    """Return the proof stress of a class of bolts, MPa.

    Args:
        grade: "8.8", "10.9" or "12.9".
        diameter_mm: Nominal diameter, mm.

    Source: EN ISO 898-1:2013, as above.
    """
    small, large = PROOF_STRESS[grade]
    return small if diameter_mm <= LARGEST_SMALL else large


def short_torque(preload_kn: float, diameter_mm: float, nut_factor: float) -> float:
    """Return the torque for a preload by the short form, T = K F d.

    Args:
        preload_kn: Preload of the bolt, kN, above 0.
        diameter_mm: Nominal diameter, mm, above 0.
        nut_factor: K, without unit, 0.05 to 0.5: about 0.20 dry, 0.12 to 0.16 greased.

    Returns:
        Torque, N m (kN times mm is N m).

    Source: Textbook form (from memory). K holds for one pair of surfaces and one grease.
    """
    return nut_factor * preload_kn * diameter_mm


def long_torque(
    thread: Thread, head_diameter_mm: float, thread_friction: float, head_friction: float
) -> float:
    """Return the torque for each kN of preload by the long form, 0.16 P + 0.58 d2 uG + DKm/2 uK.

    Args:
        thread: The thread; pitch and diameter in mm.
        head_diameter_mm: DKm, mean diameter of the friction under head or nut, mm.
        thread_friction: uG, without unit, 0.04 to 0.5.
        head_friction: uK, without unit, 0.04 to 0.5.

    Returns:
        Torque over preload, N m / kN, which is mm.

    Source: VDI 2230 Part 1 (form from memory). It gives the printed table of 2001/2003 again
        within 0.4 %; ISO 16047 has 1/(2 pi) and 1/(2 cos 30 deg) in place of 0.16 and 0.58.
    """
    slope = VDI_PITCH * thread.pitch
    flanks = VDI_THREAD * thread.pitch_diameter * thread_friction
    return slope + flanks + head_diameter_mm / 2 * head_friction


def yield_preload(
    thread: Thread, yield_mpa: float, thread_friction: float, share: float = 0.9
) -> float:
    """Return the preload at which tension and torsion together use a share of the yield stress.

    Args:
        thread: The thread; pitch and diameter in mm.
        yield_mpa: Rp0.2, MPa: 640 for class 8.8 up to M16, 660 above, 940 for 10.9, 1100 for 12.9.
        thread_friction: uG, without unit, 0.04 to 0.5.
        share: Of the yield stress, 0 to 1.

    Returns:
        Preload, kN.

    Source: VDI 2230 Part 1, F = v Rp0.2 A0 / sqrt(1 + 3 [1.5 d2/d0 (P/(pi d2) + 1.155 uG)]^2)
        (form from memory); it gives the printed table again within 0.2 %.
    """
    d2, d0 = thread.pitch_diameter, thread.stress_diameter
    turned = thread.pitch / (math.pi * d2) + VDI_SHEAR * thread_friction
    torsion = PLASTIC_TORSION * d2 / d0 * turned
    return share * yield_mpa * thread.stress_area / math.sqrt(1 + 3 * torsion**2) / 1000
