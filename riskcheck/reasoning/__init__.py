"""Facts become findings: evidence as sets, tables filled by durable-rules, worlds, live traces."""

from riskcheck.reasoning.cases import CaseResult, run_cases
from riskcheck.reasoning.engine import Engine, NoAnswerError
from riskcheck.reasoning.evidence import Evidence
from riskcheck.reasoning.live import chains
from riskcheck.reasoning.nearest import Change, what_would_change
from riskcheck.reasoning.reasoned import Reasoned, VehicleWorlds
from riskcheck.reasoning.reasoning import Reasoning, Tried, chain, reason_all, try_facts
from riskcheck.reasoning.table_cache import default_cache_dir
from riskcheck.reasoning.trace import Trace

__all__ = [
    "CaseResult",
    "Change",
    "Engine",
    "Evidence",
    "NoAnswerError",
    "Reasoned",
    "Reasoning",
    "Trace",
    "Tried",
    "VehicleWorlds",
    "chain",
    "chains",
    "default_cache_dir",
    "reason_all",
    "run_cases",
    "try_facts",
    "what_would_change",
]
