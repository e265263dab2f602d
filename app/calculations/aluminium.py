"""Optical constants of aluminium, as published.

A. D. Rakic, Applied Optics 34 (1995) 4755-4767: evaporated films, by a Kramers-Kronig analysis of
many measurements. The rows from 0.207 to 2.48 um, taken from the copy in a public-domain collection
of optical constants (CC0). Others measured other films: at 550 nm and 80 nm they give the same
reflectance within 0.7 %, and a transmittance from 2.5e-6 to 4.6e-5.
"""

from __future__ import annotations

from bisect import bisect_left

# wavelength um, n, k
RAKIC_1995 = (
    (0.20664, 0.12677, 2.3563),
    (0.24797, 0.18137, 2.9029),
    (0.30996, 0.28003, 3.7081),
    (0.32628, 0.31474, 3.9165),
    (0.36466, 0.39877, 4.3957),
    (0.41328, 0.52135, 5.0008),
    (0.44280, 0.60790, 5.3676),
    (0.47687, 0.72780, 5.7781),
    (0.51660, 0.87340, 6.2418),
    (0.56357, 1.0728, 6.7839),
    (0.61993, 1.3660, 7.4052),
    (0.65225, 1.5724, 7.7354),
    (0.68881, 1.8301, 8.0601),
    (0.72932, 2.1606, 8.3565),
    (0.77491, 2.6154, 8.4914),
    (0.79478, 2.7675, 8.3866),
    (0.81569, 2.7668, 8.2573),
    (0.83774, 2.6945, 8.1878),
    (0.88561, 2.2802, 8.1134),
    (0.91166, 1.9739, 8.3058),
    (0.93928, 1.6784, 8.5970),
    (0.96863, 1.4867, 9.0655),
    (0.99988, 1.4359, 9.4939),
    (1.0332, 1.3998, 9.8914),
    (1.1271, 1.3281, 10.969),
    (1.2399, 1.3157, 12.245),
    (1.3776, 1.3899, 13.784),
    (1.5498, 1.5782, 15.656),
    (1.7712, 1.9205, 17.991),
    (2.0664, 2.4738, 20.982),
    (2.4797, 3.3372, 25.004),
)
SHORTEST_NM, LONGEST_NM = 210, 2470


def aluminium_index(wavelength_nm: float) -> complex:
    """Return n + ik of aluminium, between the rows of the table on a straight line.

    Args:
        wavelength_nm: In vacuum, nm, 210 to 2470.

    Raises:
        ValueError: the wavelength is outside of the table.

    Source: Rakic 1995, as above.
    """
    if not SHORTEST_NM <= wavelength_nm <= LONGEST_NM:
        raise ValueError(
            f"The table of aluminium holds {SHORTEST_NM} to {LONGEST_NM} nm, not {wavelength_nm:g} nm."
        )
    um = wavelength_nm / 1000
    after = bisect_left(RAKIC_1995, (um,))
    (x0, n0, k0), (x1, n1, k1) = RAKIC_1995[after - 1], RAKIC_1995[after]
    share = (um - x0) / (x1 - x0)
    return complex(n0 + share * (n1 - n0), k0 + share * (k1 - k0))
