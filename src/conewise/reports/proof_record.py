"""A proof as plain data: what `conewise prove --json` prints. Keys end in their unit; what is not told is null."""

from __future__ import annotations

from dataclasses import asdict
from typing import TYPE_CHECKING, Any

from conewise.reports import proof_words

if TYPE_CHECKING:
    from conewise.proof.cones import ConeCount, Share
    from conewise.reports.proof_answer import PlanAnswer, ProofAnswer


def proof_record(answer: ProofAnswer) -> dict[str, Any]:
    """The answer with every number that people see."""
    effect, reason = answer.effect, answer.untold
    low, high = (None, None) if effect is None else effect.interval
    return {
        "ok": effect is not None,
        "verdict": answer.verdict,
        "sentence": proof_words.sentence(answer),
        "effect_s": None if effect is None else effect.effect,
        "low_s": low,
        "high_s": high,
        "probability": None if effect is None else effect.probability,
        "interval": answer.certainty,
        "before": answer.question.before,
        "after": answer.question.after,
        "drivers": list(answer.question.drivers),
        "reference_time_s": None if effect is None else effect.reference_time,
        "effect_share": None if effect is None else effect.ratio,
        "typical_times_s": [] if effect is None else list(effect.days),
        "basis": None if effect is None else effect.basis,
        "n_runs": None if effect is None else int(effect.compared.is_tester.sum()),
        "n_days": None if effect is None else effect.n_days,
        "n_drivers": None if effect is None else effect.n_drivers,
        "run_spread_s": None if effect is None else effect.spread,
        "untold": None if reason is None else {"code": reason.code, "why": reason.why, "remedy": reason.remedy},
        "terms": []
        if effect is None
        else [
            {"name": term.name, "effect_s": term.seconds, "low_s": term.low, "high_s": term.high}
            for term in effect.terms
        ],
        "cones": {
            "before": _count(answer.cones.before),
            "after": _count(answer.cones.after),
            "probability_fewer": answer.cones.probability_fewer,
        },
        "plan": None if answer.plan is None else plan_record(answer.plan),
        "findings": [asdict(finding) for finding in answer.findings],
    }


def plan_record(plan: PlanAnswer) -> dict[str, Any]:
    """A test that is proposed; "A" is a run on the old set-up, "B" one on the new."""
    found = plan.planned
    return {
        "sentence": " ".join(proof_words.plan_sentences(plan)),
        "orders": None if found is None else list(found.orders),
        "n_runs": None if found is None else found.n_runs,
        "least_difference_s": plan.least_difference,
        "run_spread_s": plan.spread,
        "wanted_s": plan.wanted,
        "power": plan.power,
        "certainty": plan.certainty,
    }


def _count(count: ConeCount) -> dict[str, Any]:
    return {"cones": count.n_cones, "runs_with_cones": _share(count.hit), "not_finished": _share(count.unfinished)}


def _share(share: Share) -> dict[str, Any]:
    return {"n": share.n_hits, "of": share.n_runs, "low": share.low, "high": share.high}
