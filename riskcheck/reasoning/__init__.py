"""Facts become findings: evidence as sets, tables filled by durable-rules, worlds, live traces."""

from riskcheck.reasoning.engine import Engine, NoAnswerError
from riskcheck.reasoning.evidence import Evidence
from riskcheck.reasoning.reasoned import Reasoned, VehicleWorlds
from riskcheck.reasoning.reasoning import Reasoning, Tried, chain, reason_all, try_facts
from riskcheck.reasoning.table_cache import default_cache_dir
from riskcheck.reasoning.trace import Trace

__all__ = [
    "Engine",
    "Evidence",
    "NoAnswerError",
    "Reasoned",
    "Reasoning",
    "Trace",
    "Tried",
    "VehicleWorlds",
    "chain",
    "default_cache_dir",
    "reason_all",
    "try_facts",
]
