"""How keys of what is known of a job read to a fitter, and the usual duties. Data only."""

from __future__ import annotations

# A key that is not here is read as it stands.
KEY_WORDS = {
    "torque_nm": "Engine torque, Nm", "duty": "Duty", "tools": "Tools at hand", "ecu": "Engine management",
    "year": "Year of build", "power_kw": "Engine power, kW",
}  # fmt: skip
USUAL_DUTIES = ("road", "towing", "competition", "farm", "marine", "stationary")  # common practice
