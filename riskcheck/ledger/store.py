"""The ledger: what riskcheck remembers between runs, in an SQLite file or on PostgreSQL."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import TracebackType

import pandas as pd
from sqlalchemy import Connection, Engine
from sqlalchemy.engine import URL
from sqlalchemy.exc import DBAPIError

from riskcheck.ledger import contacts, copies, facts, forgetting, running
from riskcheck.ledger.contacts import LooseRow, Merge, TypedCell
from riskcheck.ledger.facts import Correction, Outcome
from riskcheck.ledger.opening import engine_of, take_turn, trouble, url_of, writing
from riskcheck.ledger.running import Run
from riskcheck.ledger.versions import bring_up


def open_ledger(where: Path | str, *, create: bool = True) -> Ledger:
    """Open the ledger at a path or database URL, creating or migrating it where needed.

    A new file is readable by its owner only; before a migration of a file its old state is kept
    beside it.  Raises InputError (no such ledger, not a ledger, a newer version, locked) and
    UsageError (an address that is none).
    """
    url = url_of(where)
    ledger = Ledger(engine_of(url, create=create), url)
    ledger.bring_up()
    return ledger


class Ledger:
    """All that is remembered; every method is one transaction, all of it or nothing.

    Moments (``at``) are given by the caller, in local time without a zone.  Frames come back with
    a RangeIndex in a fixed order; missing text is "", missing numbers NaN, missing days NaT.
    """

    def __init__(self, engine: Engine, url: URL) -> None:
        self._engine = engine
        self._url = url

    def __enter__(self) -> Ledger:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    @property
    def where(self) -> str:
        """Where it is, without a password."""
        if self._url.get_backend_name() == "sqlite":
            return str(self._url.database)
        return self._url.render_as_string(hide_password=True)

    @property
    def path(self) -> Path | None:
        """The file, if it is one."""
        sqlite = self._url.get_backend_name() == "sqlite"
        return Path(str(self._url.database)) if sqlite else None

    def close(self) -> None:
        """Let go of the database."""
        self._engine.dispose()

    def bring_up(self) -> None:
        """Create or migrate the schema; a file's old state is kept beside it before a migration."""
        with self._read() as connection:
            if not copies.needs_step(connection):
                return
        if self.path is not None:
            copies.keep_before_step(self._engine, self.path)
        with self._write() as connection:
            bring_up(connection)

    # ------------------------------------------------------------------ runs

    def record_run(self, run: Run, snapshot: pd.DataFrame) -> None:
        """Keep what a run concluded; the same run recorded again replaces itself.

        ``snapshot``: one row per vehicle and hazard with the columns of ``snapshot``; those that
        it lacks are left empty.
        """
        with self._write() as connection:
            running.record(connection, run, snapshot)

    def record_issue(self, run_id: str, rows: pd.DataFrame) -> None:
        """Keep which rows a workbook was sent out with, and what was printed in them.

        ``rows``: row_key, contact, customer_id, vehicle_id, hazard_id, kind, channel, printed
        (JSON of heading -> text).  Rows known already are left as they are.
        """
        with self._write() as connection:
            running.record_issue(connection, run_id, rows)

    def runs(self) -> pd.DataFrame:
        """run_id, number, at, as_of (datetime64), horizon_months, fleet_path, fleet_digest,
        rules_digest, hazard_digests (JSON), exposures_digest; oldest first."""
        with self._read() as connection:
            return running.runs(connection)

    def snapshot(self, run_id: str) -> pd.DataFrame:
        """What a run said: vehicle_id, hazard_id, customer_id, status, evidence, tier, rank,
        key_value, probability, probability_low, probability_high, probability_now, risk_level,
        cost_if_fails, cost_to_prevent, act_by_date, listed (bool), record_digest, corrections,
        told (bool: someone has since been reached about it)."""
        with self._read() as connection:
            return running.snapshot(connection, run_id)

    def issued(self, run_id: str | None = None) -> pd.DataFrame:
        """The rows that were sent out (of one run, or of all)."""
        with self._read() as connection:
            return running.issued(connection, run_id)

    def record_holdout(self, run_id: str, pairs: pd.DataFrame) -> None:
        """Keep which (vehicle_id, hazard_id) were drawn to be left uncalled in a run."""
        with self._write() as connection:
            running.record_holdout(connection, run_id, pairs)

    def holdout(self) -> pd.DataFrame:
        """run_id, as_of, vehicle_id, hazard_id of everything ever held out."""
        with self._read() as connection:
            return running.holdout(connection)

    # ------------------------------------------------------------------ contacts

    def record_typed(
        self,
        cells: Sequence[TypedCell],
        loose: Sequence[LooseRow],
        *,
        source: str,
        at: dt.datetime,
        by: str,
    ) -> Merge:
        """Take in what was typed into copies of call sheets, cell by cell; known words are no-ops.

        Returns what each cell added (new, same, revised, conflict).
        """
        with self._write() as connection:
            return contacts.record(connection, cells, loose, source=source, at=at, by=by)

    def unrecorded(self, cells: Sequence[TypedCell], loose: Sequence[LooseRow]) -> bool:
        """Whether any of these is not in the ledger yet."""
        with self._read() as connection:
            return contacts.unrecorded(connection, cells, loose)

    def contacts(self) -> pd.DataFrame:
        """Every row somebody wrote in: row_key, run_id, contact, customer_id, vehicle_id,
        hazard_id, kind, channel, date, result, note, next_step, by, at, conflict (bool), words,
        hours (of the job, where the printed estimate was written over).

        ``date``, ``result`` and ``next_step`` hold the understood meaning (day, codes), else what
        was typed; ``words`` everything else that was typed into the row, as "heading: value".
        """
        with self._read() as connection:
            return contacts.contacts(connection)

    def promises(self) -> pd.DataFrame:
        """What was promised and not yet followed up: the contacts whose latest row names a next
        step, with ``due`` from the row's date."""
        with self._read() as connection:
            return contacts.promises(connection)

    def conflicts(self) -> pd.DataFrame:
        """Cells on which copies disagree: run_id, row_key, heading, values ("; " between)."""
        with self._read() as connection:
            return contacts.conflicts(connection)

    def loose_rows(self) -> pd.DataFrame:
        """Rows that belong to no row we sent out, kept as they came."""
        with self._read() as connection:
            return contacts.loose(connection)

    def typed(self) -> pd.DataFrame:
        """Everything ever typed that was not taken back, with recording, copy, by and at."""
        with self._read() as connection:
            return contacts.typed(connection)

    # ------------------------------------------------------------------ facts from people

    def add_correction(self, correction: Correction, *, at: dt.datetime, by: str) -> int:
        """Keep that a fact of a vehicle is what a person says; returns its number.

        It replaces an earlier correction of the same fact, which stays in the history.
        """
        with self._write() as connection:
            return facts.add_correction(connection, correction, at=at, by=by)

    def corrections(self, as_of: dt.date | None = None) -> pd.DataFrame:
        """Live corrections (made up to the end of ``as_of``): correction_id, vehicle_id, fact,
        value, because, by, at, words."""
        with self._read() as connection:
            return facts.corrections(connection, as_of)

    def end_corrections(self, ended: pd.DataFrame, *, at: dt.datetime) -> None:
        """Mark corrections (correction_id, ended_by) as contradicted by newer words."""
        with self._write() as connection:
            facts.end_corrections(connection, ended, at=at)

    def add_outcome(self, outcome: Outcome, *, at: dt.datetime, by: str) -> int:
        """Keep what the bay found on one vehicle and hazard; returns its number."""
        with self._write() as connection:
            return facts.add_outcome(connection, outcome, at=at, by=by)

    def outcomes(self) -> pd.DataFrame:
        """vehicle_id, hazard_id, date, outcome (found|not_found|other|failed), hours, note, by:
        from the bay's own entries and from results ticked in call sheets."""
        with self._read() as connection:
            return facts.outcomes(connection)

    def add_consent(self, consent: facts.Consent, *, at: dt.datetime, by: str) -> int:
        """Keep that a customer allowed or refused a channel (and topic); returns its number."""
        with self._write() as connection:
            return facts.add_consent(connection, consent, at=at, by=by)

    def consents(self) -> pd.DataFrame:
        """customer_id, channel, topic, state (yes|no), date, source; latest last."""
        with self._read() as connection:
            return facts.consents(connection)

    def undo(self, *, at: dt.datetime, workbooks: bool = True) -> str | None:
        """Take back the last thing recorded; says what it was, or None if there is nothing.

        Raises UsageError if that is a whole workbook and ``workbooks`` is false.
        """
        with self._write() as connection:
            return facts.undo(connection, at=at, workbooks=workbooks)

    # ------------------------------------------------------------------ the whole of it

    def forget(self, customer_id: str, names: Sequence[str] = ()) -> dict[str, int]:
        """Remove one customer with all that hangs on him; returns rows removed by table.

        Free text of other rows that holds one of ``names`` (name, telephone) goes too.  Counts of
        what the bay found stay, without vehicle and words.  An id that nobody has removes nothing.
        """
        with self._write() as connection:
            removed = forgetting.forget(connection, customer_id, names)
        with self._plain_errors():
            forgetting.scrub(self._engine)
        return removed

    def digest(self) -> str:
        """SHA-256 over everything people recorded (runs excluded): part of "same input"."""
        with self._read() as connection:
            return copies.digest(connection)

    def backup(self, target: Path) -> dict[str, int]:
        """Write the whole ledger as one portable file, owner-only; returns rows by table."""
        with self._read() as connection:
            return copies.backup(connection, target)

    def restore(self, source: Path) -> dict[str, int]:
        """Fill an empty ledger from a backup, whichever database it came from."""
        with self._write() as connection:
            return copies.restore(connection, source)

    @contextmanager
    def _read(self) -> Iterator[Connection]:
        with self._plain_errors(), self._engine.connect() as connection:
            yield connection

    @contextmanager
    def _write(self) -> Iterator[Connection]:
        with self._plain_errors(), writing(self._engine).begin() as connection:
            take_turn(connection)
            yield connection

    @contextmanager
    def _plain_errors(self) -> Iterator[None]:
        try:
            yield
        except DBAPIError as error:
            raise trouble(error, self._url) from None
