"""The worker process: lost, frozen, retired; and what the rest of riskcheck does then."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import numpy as np
import pytest

from riskcheck.errors import InternalError
from riskcheck.reasoning import engine as engine_module
from riskcheck.reasoning.engine import Engine, NoAnswerError
from riskcheck.reasoning.engine_rules import RuleSet, for_finding, for_hazard
from riskcheck.reasoning.evidence import stated
from riskcheck.reasoning.reasoning import conclude
from riskcheck.reasoning.tables import tables_for
from riskcheck.rulebook.compiled import (
    CompiledFinding,
    CompiledHazard,
    CompiledRule,
    FactLiteral,
    FindingLiteral,
)
from riskcheck.vocabulary import Derivation, Fact, Vocabulary

ROOT = Path(__file__).resolve().parents[2]


def number(name: str) -> Fact:
    return Fact(name, "number", "invented", Derivation("column"), "on_file", low=0, high=100)


def flag(name: str) -> Fact:
    return Fact(name, "flag", "invented", Derivation("column"), "on_file")


VOCABULARY = Vocabulary({"age": number("age"), "worn": flag("worn"), "fixed": flag("fixed")})


def finding(name: str, stratum: int, *rules) -> CompiledFinding:
    made = tuple(CompiledRule(name, index, literals) for index, literals in enumerate(rules))
    return CompiledFinding(name, name, stratum, made)


def small_hazard(hazard_id: str = "small") -> CompiledHazard:
    return CompiledHazard(
        hazard_id,
        (
            finding("applies", 1, (FactLiteral("age", ">=", 10),)),
            finding(
                "closed", 1, (FindingLiteral("applies", True), FactLiteral("fixed", "==", "yes"))
            ),
            finding("sign", 2, (FindingLiteral("closed", False), FactLiteral("worn", "==", "yes"))),
        ),
        {"age": (10,)},
        ("age", "fixed"),
        (),
    )


def when_started(engine: Engine, action, *, times: int = 1) -> threading.Thread:
    """Do ``action(pid)`` to the first ``times`` workers as soon as each is there."""

    def watch() -> None:
        done: set[int] = set()
        until = time.monotonic() + 20
        while len(done) < times and time.monotonic() < until:
            pid = engine.worker_pid
            if pid is not None and pid not in done:
                done.add(pid)
                action(pid)
            time.sleep(0.0005)

    thread = threading.Thread(target=watch)
    thread.start()
    return thread


def truth_of(tables) -> dict[str, list[int]]:
    return {table.name: table.fired.tolist() for table in tables.findings}


@pytest.mark.parametrize("blow", ["SIGKILL", "SIGSTOP"])
def test_a_lost_worker_is_replaced_and_the_answer_is_the_same(blow):
    with Engine() as engine:
        expected = tables_for([small_hazard()], VOCABULARY, engine)["small"]
    with Engine(limit_s=1.0) as engine:
        watch = when_started(engine, lambda pid: os.kill(pid, getattr(signal, blow)))
        again = tables_for([small_hazard()], VOCABULARY, engine)["small"]
        watch.join()
        assert engine.restarts == 1
    assert truth_of(again) == truth_of(expected)
    assert again.unanswered == ()


@pytest.mark.parametrize("blow", ["SIGKILL", "SIGSTOP"])
def test_a_worker_lost_mid_run_between_findings_is_replaced(blow):
    hazard = small_hazard()
    ruleset = for_finding("small", hazard.findings[0], VOCABULARY)
    with Engine(limit_s=1.0) as engine:
        before = engine.run(ruleset, [[("age", 9)], [("age", 10)]])
        os.kill(engine.worker_pid, getattr(signal, blow))
        after = engine.run(ruleset, [[("age", 9)], [("age", 10)]])
        assert engine.restarts == 1
    assert before == after == [[], [0]]


@pytest.mark.parametrize("blow", ["SIGKILL", "SIGSTOP"])
def test_a_worker_lost_every_time_gives_no_answer_and_names_the_finding(blow):
    hazard = small_hazard()
    with Engine(limit_s=0.5) as engine:
        watch = when_started(engine, lambda pid: os.kill(pid, getattr(signal, blow)), times=2)
        with pytest.raises(NoAnswerError, match="small: applies") as caught:
            engine.run(for_finding("small", hazard.findings[0], VOCABULARY), [[("age", 10)]])
        watch.join()
    assert caught.value.about == "small: applies"


class LosesWorkerOn(Engine):
    """Kills its own worker whenever a ruleset about ``doomed`` is to be run."""

    def __init__(self, doomed: str) -> None:
        super().__init__(limit_s=5.0)
        self.doomed = doomed

    def _ask(self, ruleset: RuleSet, sessions):
        if self.doomed in ruleset.about:
            worker = self._ready_worker()
            worker.process.kill()
            worker.process.wait()
        return super()._ask(ruleset, sessions)


VEHICLES = {
    "old": {"age": 50, "worn": False, "fixed": False},
    "young": {"age": 5, "worn": False, "fixed": False},
}


def test_pairs_of_the_lost_finding_have_no_answer_and_the_others_do():
    hazards = {name: small_hazard(name) for name in ("doomed", "spared")}
    evidence = stated(VOCABULARY, VEHICLES, ["age", "worn", "fixed"])
    with LosesWorkerOn("doomed: closed") as engine:
        reasoning = conclude(evidence, hazards, 0.9, engine)
    assert list(reasoning.hazards["doomed"].status) == ["no_answer", "no_answer"]
    assert list(reasoning.hazards["spared"].status) == ["exposed", "not_applicable"]
    assert reasoning.unanswered == (("doomed", "closed"),)
    assert len(reasoning.hazards["doomed"].worlds.weight) == 0


def test_pairs_that_the_live_chain_cannot_confirm_have_no_answer():
    hazards = {name: small_hazard(name) for name in ("doomed", "spared")}
    evidence = stated(VOCABULARY, VEHICLES, ["age", "worn", "fixed"])
    with LosesWorkerOn("doomed: whole chain") as engine:
        reasoning = conclude(evidence, hazards, 0.9, engine)
    assert reasoning.unaudited == (("doomed", "old"), ("doomed", "young"))
    assert list(reasoning.hazards["doomed"].status) == ["no_answer", "no_answer"]
    assert list(reasoning.hazards["spared"].status) == ["exposed", "not_applicable"]


def test_a_table_with_no_answer_is_not_kept(tmp_path):
    with LosesWorkerOn("small: closed") as engine:
        tables_for([small_hazard()], VOCABULARY, engine, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_wrong_table_is_caught_by_the_audit_which_names_hazard_and_finding(tmp_path, monkeypatch):
    from riskcheck.reasoning import reasoning as reasoning_module

    def spoiled(*args, **kwargs):
        tables = tables_for(*args, **kwargs)
        table = next(t for t in tables["small"].findings if t.name == "closed")
        table.fired[:] = 0
        return tables

    monkeypatch.setattr(reasoning_module, "tables_for", spoiled)
    evidence = stated(
        VOCABULARY, {"a": {"age": 50, "worn": True, "fixed": True}}, ["age", "worn", "fixed"]
    )
    with Engine() as engine, pytest.raises(InternalError, match=r"small.*'(closed|sign)'"):
        conclude(evidence, {"small": small_hazard()}, 0.9, engine)


def test_the_engine_refusing_rules_is_our_own_fault_not_silence():
    too_small = {"all": [{"c0": {"$and": [{"name": "age"}, {"$gt": {"value": 1e-12}}]}}]}
    rule = {**too_small, "adds": None}
    broken = RuleSet("rbroken", "small: broken", (rule,), (("x", 0),), ("_1",))
    with Engine() as engine, pytest.raises(InternalError, match="small: broken"):
        engine.run(broken, [[("age", 1)]])


def test_workers_are_retired_before_the_engine_grows_too_large(monkeypatch):
    monkeypatch.setattr(engine_module, "SESSIONS_PER_WORKER", 50)
    ruleset = for_hazard(small_hazard(), VOCABULARY)
    sessions = [[("age", age), ("fixed", 0), ("worn", 1)] for age in range(40)]
    with Engine() as engine:
        first = engine.run(ruleset, sessions)
        pid = engine.worker_pid
        second = engine.run(ruleset, sessions)
        assert engine.worker_pid == pid
        third = engine.run(ruleset, sessions)
        assert engine.worker_pid != pid
        assert engine.restarts == 0
    assert first == second == third


def test_two_negations_in_one_rule_wait_for_both():
    """The case that goes wrong when negations stand before the stratum's marker."""
    hazard = CompiledHazard(
        "negations",
        (
            finding("one", 1, (FactLiteral("age", ">", 50),)),
            finding("two", 1, (FactLiteral("worn", "==", "yes"),)),
            finding(
                "neither",
                2,
                (
                    FactLiteral("age", ">=", 0),
                    FindingLiteral("one", False),
                    FindingLiteral("two", False),
                ),
            ),
        ),
        {"age": (0, 50)},
        (),
        (),
    )
    ruleset = for_hazard(hazard, VOCABULARY)
    sessions = [[("age", age), ("worn", worn)] for age in (10, 60) for worn in (0, 1)]
    with Engine() as engine:
        fired = engine.run(ruleset, sessions)
    names = [{ruleset.origins[rule][0] for rule in rules} for rules in fired]
    assert names == [{"neither"}, {"two"}, {"one"}, {"one", "two"}]


def test_sixty_comparisons_on_one_fact_all_fire():
    """The engine loses a fact that matches more than 64 sibling conditions; 60 is allowed."""
    rules = [(FactLiteral("age", ">=", cut),) for cut in range(60)]
    hazard = CompiledHazard(
        "many", (finding("high", 1, *rules),), {"age": tuple(range(60))}, ("age",), ()
    )
    with Engine() as engine:
        fired = engine.run(for_hazard(hazard, VOCABULARY), [[("age", 99)], [("age", 29)]])
    assert [len(rules) for rules in fired] == [60, 30]


def test_as_many_sessions_as_cells_and_none_when_kept(tmp_path):
    hazard = small_hazard()
    with Engine() as engine:
        tables = tables_for([hazard], VOCABULARY, engine, tmp_path)["small"]
        assert engine.sessions_run == sum(len(table.fired) for table in tables.findings)
        # age has below, on, above and absent; flags two cells; earlier findings two.
        assert [len(table.fired) for table in tables.findings] == [4, 4, 4]
    with Engine() as engine:
        again = tables_for([hazard], VOCABULARY, engine, tmp_path)["small"]
        assert engine.sessions_run == 0
        assert engine.worker_pid is None
    assert truth_of(again) == truth_of(tables)


DETERMINISM = """
from riskcheck import rulebook
from riskcheck.reasoning import Engine, run_cases
from riskcheck.reasoning.reasoning import compile_all
from riskcheck.reasoning.tables import tables_for
import hashlib
book = rulebook.load().keeping(["heater-stud-drop", "wheel-retorque-missed"])
with Engine() as engine:
    tables = tables_for(list(compile_all(book).values()), book.vocabulary, engine)
    text = repr([(n, t.rules_digest, [(f.name, f.fired.tolist()) for f in t.findings])
                 for n, t in tables.items()])
    print(hashlib.sha256(text.encode()).hexdigest(), engine.sessions_run)
"""


def test_hash_seed_and_time_zone_change_nothing():
    outputs = set()
    for seed, zone in (("0", "UTC"), ("12345", "Pacific/Auckland")):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "TZ": zone, "PYTHONPATH": str(ROOT)}
        run = subprocess.run(
            [sys.executable, "-c", DETERMINISM],
            capture_output=True, text=True, check=True, env=environment,
        )  # fmt: skip
        outputs.add(run.stdout)
    assert len(outputs) == 1


def test_values_of_tables_are_whole_numbers():
    with Engine() as engine:
        tables = tables_for([small_hazard()], VOCABULARY, engine)["small"]
    assert all(table.fired.dtype == np.int64 for table in tables.findings)
