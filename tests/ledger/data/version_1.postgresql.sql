-- The ledger's schema as version 1 made it. Frozen: never edit, ledgers of that version exist.

CREATE TABLE about (
  name TEXT NOT NULL,
  value TEXT NOT NULL,
  PRIMARY KEY (name)
);

CREATE TABLE issued (
  run_id TEXT NOT NULL,
  row_key TEXT NOT NULL,
  contact TEXT NOT NULL,
  customer_id TEXT NOT NULL,
  vehicle_id TEXT NOT NULL,
  hazard_id TEXT NOT NULL,
  kind TEXT NOT NULL,
  channel TEXT NOT NULL,
  printed TEXT NOT NULL,
  PRIMARY KEY (run_id, row_key)
);

CREATE TABLE recordings (
  recording_id SERIAL NOT NULL,
  kind TEXT NOT NULL,
  at TEXT NOT NULL,
  by TEXT NOT NULL,
  source TEXT NOT NULL,
  undone_at TEXT,
  PRIMARY KEY (recording_id)
);

CREATE TABLE runs (
  run_id TEXT NOT NULL,
  number INTEGER NOT NULL,
  at TEXT NOT NULL,
  as_of TEXT NOT NULL,
  horizon_months INTEGER NOT NULL,
  fleet_path TEXT NOT NULL,
  fleet_digest TEXT NOT NULL,
  rules_digest TEXT NOT NULL,
  hazard_digests TEXT NOT NULL,
  exposures_digest TEXT NOT NULL,
  PRIMARY KEY (run_id)
);

CREATE TABLE corrections (
  correction_id SERIAL NOT NULL,
  recording_id INTEGER NOT NULL,
  vehicle_id TEXT NOT NULL,
  fact TEXT NOT NULL,
  value TEXT NOT NULL,
  because TEXT NOT NULL,
  ended_at TEXT,
  ended_by TEXT,
  PRIMARY KEY (correction_id),
  FOREIGN KEY(recording_id) REFERENCES recordings (recording_id)
);

CREATE INDEX corrections_by_vehicle ON corrections (vehicle_id);

CREATE TABLE loose_rows (
  loose_id SERIAL NOT NULL,
  recording_id INTEGER NOT NULL,
  run_id TEXT NOT NULL,
  sheet TEXT NOT NULL,
  why TEXT NOT NULL,
  customer_id TEXT NOT NULL,
  vehicle_id TEXT NOT NULL,
  cells TEXT NOT NULL,
  meanings TEXT NOT NULL,
  PRIMARY KEY (loose_id),
  FOREIGN KEY(recording_id) REFERENCES recordings (recording_id)
);

CREATE TABLE outcomes (
  outcome_id SERIAL NOT NULL,
  recording_id INTEGER NOT NULL,
  vehicle_id TEXT NOT NULL,
  hazard_id TEXT NOT NULL,
  date TEXT NOT NULL,
  outcome TEXT NOT NULL,
  note TEXT NOT NULL,
  PRIMARY KEY (outcome_id),
  FOREIGN KEY(recording_id) REFERENCES recordings (recording_id)
);

CREATE TABLE snapshots (
  run_id TEXT NOT NULL,
  vehicle_id TEXT NOT NULL,
  hazard_id TEXT NOT NULL,
  customer_id TEXT NOT NULL,
  status TEXT NOT NULL,
  evidence TEXT NOT NULL,
  tier INTEGER,
  rank INTEGER,
  key_value FLOAT,
  probability FLOAT,
  probability_low FLOAT,
  probability_high FLOAT,
  probability_now FLOAT,
  risk_level TEXT NOT NULL,
  cost_if_fails FLOAT,
  cost_to_prevent FLOAT,
  act_by_date TEXT NOT NULL,
  listed INTEGER NOT NULL,
  record_digest TEXT NOT NULL,
  corrections TEXT NOT NULL,
  PRIMARY KEY (run_id, vehicle_id, hazard_id),
  FOREIGN KEY(run_id) REFERENCES runs (run_id) ON DELETE CASCADE
);

CREATE INDEX snapshots_by_customer ON snapshots (customer_id);

CREATE TABLE typed (
  typed_id SERIAL NOT NULL,
  recording_id INTEGER NOT NULL,
  run_id TEXT NOT NULL,
  row_key TEXT NOT NULL,
  heading TEXT NOT NULL,
  copy_id TEXT NOT NULL,
  value TEXT NOT NULL,
  meaning TEXT NOT NULL,
  PRIMARY KEY (typed_id),
  FOREIGN KEY(recording_id) REFERENCES recordings (recording_id)
);

CREATE INDEX typed_by_row ON typed (run_id, row_key);
