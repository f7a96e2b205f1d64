"""An audit in sentences. Pure."""

from __future__ import annotations

from delivery.model.audit import Audit, AuditRow, CodeClash, Copy, Duplicates
from delivery.model.codes import CODES
from delivery.model.finding import Finding, Result
from delivery.report.view import words


def total_sentences(audit: Audit) -> tuple[str, ...]:
    """Files and hours; then for each spec what state its files are in."""
    hours, minutes = divmod(round(audit.duration_s / 60), 60)
    length = f"{hours:,} h {minutes} min" if hours else f"{minutes} min" if minutes else f"{audit.duration_s:.0f} s"
    lines = [f"{words.counted(audit.files, 'file')}, {length} of music."]
    for spec, counts in audit.results.items():
        ready = counts.get(Result.READY, 0) + counts.get(Result.REMARKS, 0)
        not_ready = counts.get(Result.NOT_READY, 0)
        lines.append(f"{spec}: {ready:,} ready as they are, {not_ready:,} not.")
    if audit.unreadable:
        lines.append(f"{words.counted(audit.unreadable, 'file')} could not be read.")
    copies = sum(len(group.copies) for group in audit.duplicates)
    lines.append(
        f"{words.counted(len(audit.duplicates), 'recording')} more than once, in {words.counted(copies, 'file')}."
        if audit.duplicates
        else "No recording is there more than once."
    )
    one = sum(clash.one_code for clash in audit.clashes)
    lines.append(
        f"ISRCs: {one:,} on several recordings; {words.counted(len(audit.clashes) - one, 'recording')} with several."
        if audit.clashes
        else "No ISRC is on two recordings, and no recording has two."
    )
    return tuple(lines)


def copies_sentence(group: Duplicates) -> str:
    """'One recording: a.wav; b.mp3 (0.05 s later, 6.0 dB quieter)'."""
    first, *others = group.copies
    return f"One recording: {words.plain(first.path)}; " + "; ".join(
        f"{words.plain(copy.path)} ({difference(copy)})" for copy in others
    )


def difference(copy: Copy) -> str:
    """How a copy differs from the first one of its group; a difference that would be printed as nought is none."""
    if copy.exact:
        return "the same samples"
    if copy.offset_s is None or copy.gain_db is None:
        return "the same recording"
    offset_s, gain_db = round(copy.offset_s, 2), round(copy.gain_db, 1)
    moved = f"{abs(offset_s):.2f} s {'later' if offset_s > 0 else 'earlier'}" if offset_s else ""
    louder = f"{abs(gain_db):.1f} dB {'louder' if gain_db > 0 else 'quieter'}" if gain_db else ""
    return ", ".join(text for text in (moved, louder) if text) or "other samples, same level and start"


def clash_sentence(clash: CodeClash) -> str:
    """Which codes, and on which files."""
    codes = ", ".join(CODES["isrc"].printed(code) for code in clash.isrcs)
    paths = "; ".join(map(words.plain, clash.paths))
    if clash.one_code:
        return f"ISRC {codes} is on {len(clash.paths)} recordings: {paths}"
    return f"One recording has {len(clash.isrcs)} ISRCs, {codes}: {paths}"


def open_musts(row: AuditRow) -> tuple[str, ...]:
    """What keeps a file from being ready: 'true_peak_max_dbtp: found -0.2 dBTP, wanted at most -1 dBTP'."""
    return tuple(dict.fromkeys(_sentence(each) for each in row.findings if each.result is Result.NOT_READY))


def _sentence(finding: Finding) -> str:
    if finding.why and not finding.found:
        return words.plain(f"{finding.rule}: not measured ({finding.why})")
    return words.plain(f"{finding.rule}: found {finding.found}, wanted {finding.wanted}")
