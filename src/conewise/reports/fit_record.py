"""The fit of wheels as plain data: what `conewise fit --json` prints. Keys end in their unit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from conewise.reports.fit_words import CAUTIONS, answer_sentence, scrub_sentence

if TYPE_CHECKING:
    from conewise.reports.fit_answer import AxleFit, Estimate, FitAnswer

_MM = 1e3
_KMH = 3.6


def fit_record(answer: FitAnswer) -> dict[str, Any]:
    """What `--json` prints; the first three lengths are those of the axle on which they are greatest."""
    return {
        "ok": answer.is_cleared,
        "fits": answer.fits,
        "cleared": answer.is_cleared,
        "sentence": answer_sentence(answer),
        "n_open": answer.n_questions_open,
        "car": answer.car,
        "wheel": answer.wheel,
        "tyre": answer.tyre,
        "diameter_mm": max(2 * fit.after.radius for fit in answer.axles) * _MM,
        "outer_shift_mm": max(fit.shift.outer for fit in answer.axles) * _MM,
        "inner_shift_mm": max(fit.shift.inner for fit in answer.axles) * _MM,
        "speedometer_pct": 100 * answer.speedometer,
        "gears": [
            {"gear": gear.gear, "before_km_h": gear.before * _KMH, "after_km_h": gear.after * _KMH}
            for gear in answer.gears
        ],
        "axles": {fit.axle: _axle(fit) for fit in answer.axles},
        "findings": [
            {"severity": f.severity, "code": f.code, "message": f.message, "where": f.where}
            for f in answer.all_findings
        ],
        "items": [
            {
                "code": item.code,
                "axle": item.axle,
                "state": item.state.value,
                "safety": item.is_safety,
                "message": item.message,
                "needs": item.needs,
            }
            for item in answer.items
        ],
        "cautions": list(CAUTIONS),
    }


def _axle(fit: AxleFit) -> dict[str, Any]:
    shift, after, before = fit.shift, fit.after, fit.before
    return {
        "diameter_mm": 2 * after.radius * _MM,
        "diameter_before_mm": 2 * before.radius * _MM,
        "section_mm": after.section * _MM,
        "section_before_mm": before.section * _MM,
        "sidewall_mm": after.tyre.sidewall * _MM,
        "revolutions_per_km": after.tyre.revolutions * 1e3,
        "offset_mm": after.offset * _MM,
        "spacer_mm": after.spacer * _MM,
        "outer_shift_mm": shift.outer * _MM,
        "inner_shift_mm": shift.inner * _MM,
        "tyre_outer_shift_mm": shift.tyre_outer * _MM,
        "tyre_inner_shift_mm": shift.tyre_inner * _MM,
        "shift_sd_mm": shift.lateral_sd * _MM,
        "radius_change_mm": shift.radial * _MM,
        "track_change_mm": shift.track * _MM,
        "axle_load_kg": fit.load,
        **_pair("wheel_mass", "kg", fit.wheel_mass),
        **_pair("wheel_inertia", "kg_m2", fit.wheel_inertia),
        **_share("friction", fit.friction),
        **_share("cornering_stiffness", fit.stiffness),
        **_share("vertical_rate", fit.vertical_rate),
        "steering": scrub_sentence(fit),
    }


def _pair(name: str, unit: str, value: Estimate) -> dict[str, float]:
    return {f"{name}_before_{unit}": value.before, f"{name}_{unit}": value.after, f"{name}_sd_{unit}": value.sd}


def _share(name: str, value: Estimate) -> dict[str, float]:
    return {f"{name}_change_pct": 100 * value.share, f"{name}_change_sd_pct": 100 * value.share_sd}
