"""The journal: what an orchard was, what was seen, advised and done, kept so that nothing can change unnoticed.

    from advisor.journal import Journal

    with Journal.open("underbough.db") as journal:                      # or "postgresql+psycopg://..."
        journal.put_orchard("larkfield", {"orchard": {...}, "blocks": [...]})
        journal.observe("larkfield", [{"date": "2026-05-18", "kind": "sward", "block": "upper", "height": "45 cm"}])
        journal.weather("larkfield", csv_text)
        advice = journal.advise("larkfield", on="2026-05-18")
        journal.decide(advice.id, advice.answer.recommendations[0].id, "done", hours=3)

Everything is a record in one chain, each holding the hash of the one before (`advisor.journal.chain`); nothing is ever
changed or removed, and what stands today is read from the records (`advisor.journal.state`). An advice is kept with the
position up to which the journal was read for it, so its whole inputs are known for ever without being kept twice.

Refusals are InputError; `Missing` where nothing is kept under an id, `Conflict` where somebody wrote in between or an
idempotency key stands for something else. Needs the extra `server`; PostgreSQL needs `scale`.
"""

from advisor.journal.chain import Entry, Head
from advisor.journal.deciding import REASONS, STATES, TAKEN_BACK, standing
from advisor.journal.faults import Conflict, Missing, Unavailable
from advisor.journal.journal import Journal
from advisor.journal.kept import Advice, Decision, Observed
from advisor.journal.recording import Recorded, record
from advisor.journal.replaying import Replay
from advisor.journal.state import Version

__all__ = [
    "REASONS", "STATES", "TAKEN_BACK", "Advice", "Conflict", "Decision", "Entry", "Head", "Journal", "Missing", "Observed",
    "Recorded", "Replay", "Unavailable", "Version", "record", "standing",
]  # fmt: skip
