"""The second part of a journal: advice, what was decided about it, and running it again."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from advisor import ecosystem
from advisor.advice import Answer, Inputs, answer_to, day_of, default_rules, edition_of, id_of
from advisor.ecosystem import Knowledge
from advisor.journal.deciding import TAKEN_BACK, checked, day_of_decision, recommendation_of, standing, work_of
from advisor.journal.faults import conflict, missing, refused
from advisor.journal.keeping import Keeping
from advisor.journal.kept import Advice, Decision
from advisor.journal.replaying import Manifest, Replay, compared, manifest
from advisor.journal.taking import read_looks, take_looks
from advisor.orchard import OrchardFile
from advisor.rulebook import Rulebook

if TYPE_CHECKING:
    from advisor.journal.store import Writer


class Advising(Keeping):
    """Keeps advice and decisions."""

    def advise(self, orchard: str, on: dt.date | dt.datetime | str | None = None) -> Advice:
        """Advice for an orchard on a day (today in its zone if left out), kept. The same inputs are kept once."""
        with self._store.reading() as reader:
            file, read = self._held.file(reader, orchard)
            inputs = self._inputs(file, on)
            asked = (orchard, read, inputs.day.isoformat())
            found = reader.latest(orchard, ["advice"], self._held.id(asked, lambda: id_of(edition_of(inputs))))
        if found is not None:
            return Advice.of(found)
        answer = answer_to(inputs)
        self._held.hold_run(answer.advice, answer)
        body = {"on": inputs.day.isoformat(), "read": read, "edition": answer.edition, "answer": _text(answer)}
        with self._store.writing() as writer:
            found = writer.latest(orchard, ["advice"], answer.advice)  # another process may have been first
            if found is None:
                self._keep_manifest(writer, answer.edition)
                found = writer.append(orchard, "advice", answer.advice, body)
        return Advice.of(found)

    def advice(self, id: str) -> Advice:
        """An advice that was given; Missing if there is none."""
        with self._store.reading() as reader:
            found = reader.latest(None, ["advice"], id)
        if found is None:
            raise missing(f"advice {id[:40]}", "no advice of that id is kept", "Look for it among the advices.")
        return Advice.of(found)

    def advices(self, orchard: str, after: int = 0, limit: int = 50) -> list[Advice]:
        """Advices for an orchard, the newest first; after: the position that was seen last."""
        with self._store.reading() as reader:
            self._held.known(reader, orchard)
            return [Advice.of(entry) for entry in reader.entries(orchard, ["advice"], after=after, newest=True,
                                                                 limit=limit)]  # fmt: skip

    def inputs_of(self, advice: str) -> Inputs:
        """All that an advice was asked with, as the journal held it then, with today's rules and knowledge."""
        kept = self.advice(advice)
        with self._store.reading() as reader:
            return self._inputs(self._held.file(reader, kept.orchard, kept.read)[0], kept.on)

    def run_of(self, advice: str) -> Answer:
        """The advice run again, for explanations. With changed rules it may differ: see `replay`."""
        answer = self._held.run(advice)
        if answer is None:
            answer = answer_to(self.inputs_of(advice))
            self._held.hold_run(advice, answer)
        return answer

    def decide(
        self,
        advice: str,
        recommendation: str,
        state: str,
        reason: str | None = None,
        *,
        hours: float | None = None,
        note: str | None = None,
        by: str | None = None,
        on: dt.date | str | None = None,
        work: Mapping[str, Any] | None = None,
        key: str | None = None,
    ) -> Decision:
        """Keep what was done about a recommendation: done, refused or overridden; or take back what was decided.

        reason: one of REASONS, or own words; needed for refused and overridden. on: the day it was done. work: further
        fields of the `work` observation that `done` records (amount, material, area, content). A further decision takes
        the place of the one before, and the work that that one recorded is withdrawn; `taken-back` puts nothing in its
        place (Conflict if nothing is decided).
        """
        kept = self.advice(advice)
        about = recommendation_of(kept.answer, recommendation)
        checked(about, state, reason, hours, note, by)
        if state == TAKEN_BACK and (work or on is not None):
            raise refused(
                "state", "taking back is no work and has no day of its own", "Leave out the day and the work."
            )

        def act(writer: Writer) -> int:
            orchard = self._held.known(writer, kept.orchard)
            decided = standing(map(Decision.of, writer.entries(kept.orchard, ["decision"])))
            before = next((d for d in decided if (d.advice, d.recommendation) == (advice, recommendation)), None)
            if state == TAKEN_BACK and before is None:
                raise conflict(f"recommendation {recommendation}", "nothing stands decided about it in this advice",
                               "There is nothing to take back.")  # fmt: skip
            today = writer.clock().astimezone(orchard.bare.zone).date()
            day = day_of_decision(on, dt.date.fromisoformat(kept.answer.date), today)
            known = self._knowledge or ecosystem.knowledge()
            done = work_of(about, day, known, work or {}, hours=hours, by=by, note=note) if state == "done" else None
            ids = take_looks(writer, kept.orchard, orchard, read_looks([done] if done else [], orchard.bare, "work"))
            if before is not None and before.observation in orchard.observations:
                others = [one.observation for one in decided if one is not before]
                if before.observation not in [*ids, *others]:
                    why = "taken back" if state == TAKEN_BACK else "decided again"
                    writer.append(kept.orchard, "withdrawal", str(before.observation), {"reason": why})
            its_day = before.on if before is not None and state == TAKEN_BACK else day.isoformat()
            said = {"recommendation": recommendation, "state": state, "reason": reason, "hours": hours, "note": note,
                    "by": by, "on": its_day, "observation": ids[0] if ids else None}  # fmt: skip
            return writer.append(kept.orchard, "decision", advice, said).position

        request = [advice, recommendation, state, reason, hours, note, by, str(on), work]
        position = self._once(kept.orchard, "decide", key, request, act)
        with self._store.reading() as reader:
            entry = next(reader.entries(kept.orchard, ["decision"], after=position - 1, limit=1))
        return Decision.of(entry)

    def decisions(self, orchard: str, advice: str | None = None) -> list[Decision]:
        """Everything that was decided or taken back, oldest first; of one advice, or of all. `standing` says what of it stands."""
        with self._store.reading() as reader:
            self._held.known(reader, orchard)
            return [Decision.of(entry) for entry in reader.entries(orchard, ["decision"], advice)]

    def replay(self, advice: str) -> Replay:
        """Run an old advice again, and say what differs and why."""
        kept, answer = self.advice(advice), answer_to(self.inputs_of(advice))
        with self._store.reading() as reader:
            old = reader.latest("", ["edition"], _edition_ref(kept.edition))
        then: Manifest | None = old.content if old else None
        equal = _text(answer) == kept.text
        return compared(advice, kept.answer, answer, equal, then, manifest(*self._books()))

    def _books(self) -> tuple[Rulebook, Knowledge]:
        return self._rules or default_rules(), self._knowledge or ecosystem.knowledge()

    def _inputs(self, file: OrchardFile, on: dt.date | dt.datetime | str | None) -> Inputs:
        book, known = self._books()
        return Inputs(file, day_of(on, file), file.weather, file.forecast, book, known)

    def _keep_manifest(self, writer: Writer, edition: Mapping[str, str]) -> None:
        ref = _edition_ref(edition)
        if writer.latest("", ["edition"], ref) is None:
            writer.append("", "edition", ref, manifest(*self._books()))


def _edition_ref(edition: Mapping[str, str]) -> str:
    return f"{edition['software']} {edition['rules']} {edition['knowledge']}"


def _text(answer: Mapping[str, Any]) -> str:
    return json.dumps(answer, ensure_ascii=False, separators=(",", ":"))
