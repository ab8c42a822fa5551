"""What the ledger holds, as tables of the newest schema version.

Days and moments are ISO text ("2026-10-01", "2026-10-01T14:05:00"): both databases sort and
compare it alike.  Everything a person recorded hangs on a ``recordings`` row and is taken back by
marking that row; nothing a person typed is updated in place.
"""

from __future__ import annotations

from sqlalchemy import (
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    PrimaryKeyConstraint,
    Table,
    Text,
)

SCHEMA_VERSION = 2

metadata = MetaData()

about = Table(
    "about",
    metadata,
    Column("name", Text, primary_key=True),
    Column("value", Text, nullable=False),
)

runs = Table(
    "runs",
    metadata,
    Column("run_id", Text, primary_key=True),
    Column("number", Integer, nullable=False),
    Column("at", Text, nullable=False),
    Column("as_of", Text, nullable=False),
    Column("horizon_months", Integer, nullable=False),
    Column("fleet_path", Text, nullable=False),
    Column("fleet_digest", Text, nullable=False),
    Column("rules_digest", Text, nullable=False),
    Column("hazard_digests", Text, nullable=False),
    Column("exposures_digest", Text, nullable=False),
)

snapshots = Table(
    "snapshots",
    metadata,
    Column("run_id", ForeignKey("runs.run_id", ondelete="CASCADE"), nullable=False),
    Column("vehicle_id", Text, nullable=False),
    Column("hazard_id", Text, nullable=False),
    Column("customer_id", Text, nullable=False),
    Column("status", Text, nullable=False),
    Column("evidence", Text, nullable=False),
    Column("tier", Integer),
    Column("rank", Integer),
    Column("key_value", Float),
    Column("probability", Float),
    Column("probability_low", Float),
    Column("probability_high", Float),
    Column("probability_now", Float),
    Column("risk_level", Text, nullable=False),
    Column("cost_if_fails", Float),
    Column("cost_to_prevent", Float),
    Column("act_by_date", Text, nullable=False),
    Column("listed", Integer, nullable=False),
    Column("record_digest", Text, nullable=False),
    Column("corrections", Text, nullable=False),
    PrimaryKeyConstraint("run_id", "vehicle_id", "hazard_id"),
)

issued = Table(
    "issued",
    metadata,
    Column("run_id", Text, nullable=False),  # of a run that another ledger may hold
    Column("row_key", Text, nullable=False),
    Column("contact", Text, nullable=False),
    Column("customer_id", Text, nullable=False),
    Column("vehicle_id", Text, nullable=False),
    Column("hazard_id", Text, nullable=False),
    Column("kind", Text, nullable=False),
    Column("channel", Text, nullable=False),
    Column("printed", Text, nullable=False),
    PrimaryKeyConstraint("run_id", "row_key"),
)

recordings = Table(
    "recordings",
    metadata,
    Column("recording_id", Integer, primary_key=True),
    Column("kind", Text, nullable=False),
    Column("at", Text, nullable=False),
    Column("by", Text, nullable=False),
    Column("source", Text, nullable=False),
    Column("undone_at", Text),
)

typed = Table(
    "typed",
    metadata,
    Column("typed_id", Integer, primary_key=True),
    Column("recording_id", ForeignKey("recordings.recording_id"), nullable=False),
    Column("run_id", Text, nullable=False),
    Column("row_key", Text, nullable=False),
    Column("heading", Text, nullable=False),
    Column("copy_id", Text, nullable=False),
    Column("value", Text, nullable=False),
    Column("meaning", Text, nullable=False),
)

loose_rows = Table(
    "loose_rows",
    metadata,
    Column("loose_id", Integer, primary_key=True),
    Column("recording_id", ForeignKey("recordings.recording_id"), nullable=False),
    Column("run_id", Text, nullable=False),
    Column("sheet", Text, nullable=False),
    Column("why", Text, nullable=False),
    Column("customer_id", Text, nullable=False),
    Column("vehicle_id", Text, nullable=False),
    Column("cells", Text, nullable=False),
    Column("meanings", Text, nullable=False),
)

corrections = Table(
    "corrections",
    metadata,
    Column("correction_id", Integer, primary_key=True),
    Column("recording_id", ForeignKey("recordings.recording_id"), nullable=False),
    Column("vehicle_id", Text, nullable=False),
    Column("fact", Text, nullable=False),
    Column("value", Text, nullable=False),
    Column("because", Text, nullable=False),
    Column("ended_at", Text),
    Column("ended_by", Text),
)

outcomes = Table(
    "outcomes",
    metadata,
    Column("outcome_id", Integer, primary_key=True),
    Column("recording_id", ForeignKey("recordings.recording_id"), nullable=False),
    Column("vehicle_id", Text, nullable=False),
    Column("hazard_id", Text, nullable=False),
    Column("date", Text, nullable=False),
    Column("outcome", Text, nullable=False),
    Column("hours", Float),  # since version 2
    Column("note", Text, nullable=False),
)

consents = Table(  # since version 2
    "consents",
    metadata,
    Column("consent_id", Integer, primary_key=True),
    Column("recording_id", ForeignKey("recordings.recording_id"), nullable=False),
    Column("customer_id", Text, nullable=False),
    Column("channel", Text, nullable=False),
    Column("topic", Text, nullable=False),
    Column("given", Integer, nullable=False),
    Column("date", Text, nullable=False),
    Column("source", Text, nullable=False),
)

holdouts = Table(  # since version 2
    "holdouts",
    metadata,
    Column("run_id", ForeignKey("runs.run_id", ondelete="CASCADE"), nullable=False),
    Column("vehicle_id", Text, nullable=False),
    Column("hazard_id", Text, nullable=False),
    PrimaryKeyConstraint("run_id", "vehicle_id", "hazard_id"),
)

indexes = (
    Index("typed_by_row", typed.c.run_id, typed.c.row_key),
    Index("corrections_by_vehicle", corrections.c.vehicle_id),
    Index("snapshots_by_customer", snapshots.c.customer_id),
)
