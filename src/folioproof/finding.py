"""One thing that is wrong, said so that the person who wrote it can put it right."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, order=True)
class Finding:
    """`file:line: CODE field: what is wrong. What to write instead.`"""

    path: Path
    line: int
    code: str
    field: str
    problem: str
    remedy: str

    def __str__(self) -> str:
        return f"{self.path}:{self.line}: {self.code} {self.field}: {self.problem}. {self.remedy}."


class FolioproofError(Exception):
    """Base of every error that is meant for a person; its text is one clear line."""


class RefusedInputError(FolioproofError):
    """What was given cannot be used; the text says why and what to write instead."""


class FindingsError(FolioproofError):
    """The records do not pass the checks; `findings` holds all that was found."""

    def __init__(self, findings: tuple[Finding, ...]) -> None:
        super().__init__(f"{len(findings)} findings in the records; run `folioproof lint` to read them")
        self.findings = findings
