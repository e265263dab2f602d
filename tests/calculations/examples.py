"""One set of inputs for every calculation, as people type them: to try what all of them share."""

from __future__ import annotations

from collections.abc import Mapping

_HEAD = {
    "diameter": "16",
    "pitch": "1.5",
    "thread_friction": "0.12",
    "head_friction": "0.12",
    "bearing_diameter": "22.5",
    "hole_diameter": "17.5",
}
_LOAD = {"mass": "15407", "acceleration": "0.8", "friction": "0.3", "angle": "40"}
_PLACE = {"utc_offset": "-2", "latitude": "-31.20", "longitude": "-29.40"}
_STOCK = {"substance": "HCl", "percent": "32", "density": "1.159"}
_HOOKS = "6.81 6.72 6.66 6.71 6.82 6.86"

EXAMPLES: Mapping[str, Mapping[str, str]] = {
    "bolt-torque": {"preload": "80", "diameter": "20", "nut_factor": "0.2"},
    "bolt-preload": {"torque": "320", "diameter": "20", "nut_factor": "0.2", "proof_load": "147"},
    "bolt-proof-load": {"diameter": "20", "pitch": "2.5", "grade": "8.8"},
    "bolt-torque-long": {"preload": "87.6", **_HEAD},
    "bolt-preload-long": {"torque": "218", **_HEAD},
    "bolt-preload-yield": {
        "diameter": "16",
        "pitch": "1.5",
        "yield_stress": "640",
        "thread_friction": "0.12",
    },
    "torque-adapter": {"torque": "320", "length": "650", "adapter": "75"},
    "torque-tool": {"greatest": "400", "indicated": "320", "reference": "315"},
    "mirror-mass": {
        "outer": "4.360",
        "hole": "0.720",
        "thickness": "0.112",
        "radius": "15.20",
        "density": "2530",
    },
    "hook-shares": {"forces": _HOOKS},
    "sling-tension": {"weight": "225", "legs": "3", "angle": "60"},
    "residual-moment": {"masses": "2150 -400", "levers": "1.2 3.0"},
    "crane-use": {"load": "4137", "tackle": "1180", "rated": "10"},
    "load-centre": {"forces": _HOOKS, "angles": "0 60 120 180 240 300", "radius": "2040"},
    "stuck-part": {"forces": _HOOKS, "weight": "40.57", "displacement": "0"},
    "tally": {"installed": "42", "in_place": "0", "removed": "42"},
    "lashing-over": {**_LOAD, "tension": "20", "safety": "1.25"},
    "lashing-direct": {**_LOAD, "aside": "45", "capacity": "63", "lashings": "4"},
    "tipping": {"lever": "1.45", "height": "1.75", "acceleration": "0.5"},
    "stopping-distance": {"speed": "5", "reaction": "1", "deceleration": "1"},
    "air-pressure": {"height": "2380"},
    "air-density": {"pressure": "758", "temperature": "10", "humidity": "40"},
    "wind-pressure": {"speed": "9", "density": "0.933"},
    "wind-height": {"speed": "9.0", "height": "3", "other_height": "10"},
    "dew-point": {"temperature": "11.5", "humidity": "38"},
    "dew-margin": {"temperature": "11.5", "humidity": "72", "glass": "9.8"},
    "sun-altitude": {"date": "2027-05-06", "clock": "07:00", **_PLACE},
    "sun-rise-set": {"date": "2027-05-06", **_PLACE},
    "sun-until": {"date": "2027-05-06", "clock": "17:00", **_PLACE, "altitude": "-6"},
    "molarity": _STOCK,
    "dilution": {**_STOCK, "wanted": "1.2", "volume": "90"},
    "dilution-mass": {"mass": "60", "wanted": "3", "stock": "37"},
    "hydrogen": {"aluminium": "12"},
    "neutralisation": {"volume": "90", "concentration": "1.2", "base": "NaHCO3"},
    "pump-down": {"volume": "44", "speed": "1500", "start": "101300", "end": "5"},
    "rate-of-rise": {"volume": "44", "rise": "0.031", "time": "600"},
    "mean-free-path": {"pressure": "0.0003"},
    "film-mass": {"thickness": "98", "area": "14.60"},
    "film-thickness": {"mass": "3.86", "area": "14.60"},
    "film-time": {"thickness": "80", "rate": "2.5", "pace": "4"},
    "thickness-difference": {"one": "100", "other": "96"},
    "crystal-thickness": {"crystal": "6", "shift": "1000"},
    "ring-evaporation": {
        "radii": "0.6 1.4 2.4",
        "counts": "12 24 48",
        "charges": "0.193 0.244 0.353",
        "distance": "1.2",
        "outer": "4.360",
        "hole": "0.720",
        "curvature": "15.20",
    },
    "film-reflectance": {"wavelength": "550", "thickness": "98"},
    "scatter": {"roughness": "2", "wavelength": "550"},
    "dust": {"clean": "90", "covered": "1"},
    "conformance": {"value": "102", "uncertainty": "0.8", "low": "97", "high": "103"},
    "wrong-share": {"tested": "60"},
    "reflectance-acceptance": {
        "readings": "92.0 92.1 91.8",
        "reference": "89.1",
        "reference_reading": "90.0",
        "uncertainty": "0.3",
        "least_mean": "90.6",
    },
    "three-point": {"least": "4", "likely": "10", "most": "22"},
    "critical-path": {
        "least": "3 3 2 3 1 6",
        "likely": "5 4 3 4 3 8",
        "most": "7 5 4 11 5 10",
        "before": "1 1 2 3 3 4 5",
        "after": "2 3 4 4 5 6 6",
    },
}
