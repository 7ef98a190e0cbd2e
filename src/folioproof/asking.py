"""The questions of `record`, one at a time, each with a sensible answer on the Enter key where there is one."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from .cli_shared import say
from .finding import RefusedInputError
from .outcome_record import (
    MADE_FIBRES,
    MADE_TREATMENTS,
    PARTS,
    STATES,
    STRENGTH_UNITS,
    UNKNOWN,
    Handle,
    OutcomeRecord,
)
from .outcome_rules import EARLIEST, Known, metals_of_ids, photo_problem
from .places import read_date, region_of_zone, region_problem
from .recording import build, plain, read_coordinates, read_number, read_temperature
from .terminal import check_lines, level_word
from .vocabulary import (
    Clarity,
    Grade,
    LeafSide,
    Level,
    Licence,
    MaterialKind,
    Method,
    MordantPlace,
    Part,
    Reaction,
    Stage,
    State,
)

if TYPE_CHECKING:
    from .answers import Candidate
    from .reference import Reference
