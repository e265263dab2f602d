"""Constants of nature and of measurement that more than one sum uses, with their sources."""

from __future__ import annotations

STANDARD_GRAVITY = 9.80665  # m/s2, exact: 3rd CGPM, 1901
GAS = 8.314462618  # J/(mol K), exact: SI of 2019
ZERO_CELSIUS = 273.15  # K, exact
ATMOSPHERE = 101325.0  # Pa, exact
ALUMINIUM_DENSITY = (
    2700.0  # kg/m3, bulk (from memory; handbooks print 2698.9); a film is less dense
)
