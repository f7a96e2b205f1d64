"""Counts and the few rows that the overview prints, kept as rows come; memory grows with rules, not with files."""

from __future__ import annotations

import heapq
from collections import Counter
from dataclasses import dataclass, field
from itertools import count
from pathlib import PurePosixPath

from delivery.model.audit import AuditRow, RuleCount
from delivery.model.finding import Answer, Result, Weight
from delivery.tasks.audit.rows import not_met

SHOWN = 100
"""Files of each list in the overview; the tables have all."""


@dataclass(slots=True)
class Tally:
    """What was counted so far."""

    files: int = 0
    unreadable: int = 0
    duration_s: float = 0.0
    results: dict[str, Counter[Result]] = field(default_factory=dict)
    problems: list[tuple[str, str]] = field(default_factory=list)
    _rules: dict[tuple[str, str, bool], dict[Answer, int]] = field(default_factory=dict)
    _examples: dict[tuple[str, str, bool], str] = field(default_factory=dict)
    _worst: list[tuple[int, int, AuditRow]] = field(default_factory=list)
    _order: count[int] = field(default_factory=count)

    def add_file(self, row: AuditRow) -> None:
        """Count a file."""
        self.files += 1
        if row.problem:
            self.unreadable += 1
            self.add_problem(row.item.path, row.problem)
            return
        self.duration_s += float(str(row.figures.get("duration_s") or 0.0))
        for spec, result in row.results.items():
            self.results.setdefault(spec, Counter())[result] += 1
        self.add_findings(row)
        if missed := not_met(row):
            heapq.heappush(self._worst, (missed, -next(self._order), row))
            if len(self._worst) > SHOWN:
                heapq.heappop(self._worst)

    def add_problem(self, path: str, problem: str) -> None:
        """Keep one of the first problems, without the name of the file, which its path has."""
        if len(self.problems) < SHOWN:
            self.problems.append((path, problem.removeprefix(f"{PurePosixPath(path).name}: ")))

    def add_findings(self, row: AuditRow) -> None:
        """Count each requirement that is not met or not measured once, however many places there are."""
        for spec, rule, must, answer in dict.fromkeys(
            (f.spec, f.rule, f.must and f.weight is Weight.FACT, f.answer) for f in row.findings
        ):
            key = spec, rule, must
            counts = self._rules.setdefault(key, {})
            counts[answer] = counts.get(answer, 0) + 1
            self._examples.setdefault(key, row.item.path)

    def rules(self) -> tuple[RuleCount, ...]:
        """By spec, musts first, then by number of files."""
        found = [
            RuleCount(
                spec,
                rule,
                must,
                counts.get(Answer.NOT_MET, 0),
                counts.get(Answer.NOT_MEASURED, 0),
                self._examples[spec, rule, must],
            )
            for (spec, rule, must), counts in self._rules.items()
        ]
        return tuple(sorted(found, key=lambda one: (one.spec, not one.must, -one.not_met, one.rule)))

    def worst(self) -> tuple[AuditRow, ...]:
        """The files with the most requirements not met, those of the same number in the order of the audit."""
        return tuple(row for _, _, row in sorted(self._worst, key=lambda entry: (-entry[0], -entry[1])))
