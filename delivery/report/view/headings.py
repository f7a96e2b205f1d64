"""Headings, heads of columns and fixed sentences of a report, in one place."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Words:
    """Headings and fixed sentences."""

    sheet: str = "Delivery sheet"
    routes: str = "What goes where"
    changes: str = "Changes"
    more_changes: str = "and {n} more on the next page"
    needed: str = "Needed before delivery"
    needed_note: str = "from the client, or from the studio"
    nothing_needed: str = "Nothing: everything required is there. Please compare it with what was agreed, and sign."
    more_needed: str = "and {n} more on the next pages"
    to_settle: str = "To settle"
    questions: str = "Questions for the client"
    results: str = "Results"
    order: str = "Order"
    parts: str = "Parts"
    notices: str = "Not met and remarks"
    no_notices: str = "Every requirement is met."
    waived: str = "Waivers"
    accepted: str = "Accepted"
    accepted_note: str = "Remarks accepted by name, for this audio and the files made from it."
    log: str = "QC log"
    done: str = "What was done"
    figures: str = "Figures"
    waveform: str = "Waveform"
    loudness: str = "Loudness of 3 s around each moment, LUFS"
    spectrum: str = "Third-octave levels, dB relative to the whole"
    method: str = "Method"
    approval: str = "Approval"
    remarks: str = "Remarks"
    in_full: str = "Each in full, with times to listen at"
    checksums: str = "Checksums"
    checksums_text: str = "SHA-256 of each file's bytes, also in the manifest of the package"
    checksums_columns: tuple[str, ...] = ("File", "SHA-256")
    package: str = "Check this package"
    package_text: tuple[str, ...] = (
        "Choose the folder of the package, or drop it here: this page computes the SHA-256 of every file again and "
        "lists those that were changed, are missing or extra. Nothing leaves the page. Large files take a while.",
        "This is a check for damage. A page inside a forged package can lie: to trust a package, check its seal with a "
        "key that reached you another way, or use a copy of this page that you kept.",
    )
    package_folder: str = "Folder of the package"
    package_key: str = "The sender's public key, if you have it (a line that begins with ssh-ed25519)"
    answer: str = "Approve or ask for changes"
    answer_text: tuple[str, ...] = (
        "Listen, then approve each track or ask for changes, as many as you like, each with its time. Titles, order "
        "and codes on this sheet are approved with the tracks.",
        "This form sends nothing by itself. Save the answer as a file, or copy it as text, and send it with a mail.",
    )
    album: str = "as one programme"
    together: str = "The album"
    lengths: str = "Lengths of discs and sides"
    carriers: str = "Discs and sides"
    outstanding: str = "What stands out"
    continued: str = "continued"
    track: str = "Track"
    tracks: str = "Tracks"
    page: str = "page {n} of {m}"
    order_columns: tuple[str, ...] = ("No.", "Title", "Artist", "ISRC", "Length, min:s", "Gap before")
    parts_columns: tuple[str, ...] = (
        "No.",
        "File",
        "Format",
        "Length, min:s",
        "True peak, dBTP",
        "Loudness, LUFS",
        "SHA-256",
        "Result",
    )
    routes_columns: tuple[str, ...] = ("Spec", "Folder", "Files", "Size", "Result")
    notices_columns: tuple[str, ...] = ("Track", "Rule", "Found", "Wanted", "Remedy", "Place")
    single_columns: tuple[str, ...] = ("received", "delivered")
    waived_columns: tuple[str, ...] = ("Track", "Rule", "For", "Waived by", "Reason")
    accepted_columns: tuple[str, ...] = ("Track", "Rule", "Found", "Accepted by", "Reason")
    log_columns: tuple[str, ...] = ("Track", "Time", "Channel", "What", "Decision", "By")
    lengths_columns: tuple[str, ...] = ("Disc or side", "For", "Tracks", "Length", "Good up to", "At most", "Result")
    approval_lines: tuple[str, ...] = ("Approved by", "Date", "Signature")
    approval_text: str = ""
