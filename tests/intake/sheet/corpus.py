"""Messy sheets as clients send them, each built by code, with what must come of it.

Every mess is one that trade notes and help pages on spreadsheets describe; the rows are invented. Codes are computed:
2000000140018 lies in GS1's range for restricted circulation; 036000291452 is the textbooks' UPC.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Any

from openpyxl import Workbook

from tests.intake.sheet.ods import cell, covered, ods

HEADER = ("No", "Title", "Artist", "ISRC", "Length")
ROWS = (
    ("1", "Low Water", "Merrow & the Glass Tide", "ZZOSL2600001", "3:45"),
    ("2", "Tally of Lamps", "Merrow & the Glass Tide", "ZZOSL2600002", "4:10"),
)
CODES = ["ZZOSL2600001", "ZZOSL2600002"]
TITLES = ["Low Water", "Tally of Lamps"]


@dataclass(frozen=True)
class Mess:
    id: str
    content: bytes
    rows: Mapping[str, list[Any]] = field(default_factory=dict)
    """Field -> its value in each row."""
    release: Mapping[str, Any] = field(default_factory=dict)
    remarks: tuple[str, ...] = ()
    """Each is part of some remark."""
    faults: tuple[tuple[str, ...], ...] = ()
    """One tuple for each fault, in order: parts of its text."""
    refused: str = ""
    """Part of the message, when the sheet as a whole is of no use."""


def csv(
    *rows: tuple[object, ...], delimiter: str = ",", encoding: str = "utf-8", head: tuple[str, ...] = HEADER
) -> bytes:
    def quoted(value: object) -> str:
        text = str(value)
        return '"' + text.replace('"', '""') + '"' if any(c in text for c in (delimiter, '"', "\n")) else text

    lines = [delimiter.join(map(quoted, row)) for row in ((head, *rows) if head else rows)]
    return ("\r\n".join(lines) + "\r\n").encode(encoding)


def xlsx(make: Callable[[Any], None]) -> bytes:
    book = Workbook()
    make(book.active)
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def table(*rows: tuple[Any, ...], head: tuple[Any, ...] = HEADER) -> bytes:
    def make(sheet: Any) -> None:
        for row in (head, *rows):
            sheet.append(row)

    return xlsx(make)


def one(head: str, value: object, **_: Any) -> bytes:
    """A sheet of one track with one further column."""
    return csv(("1", "Low Water", value), head=("No", "Title", head))


def one_x(head: str, value: Any, form: str = "") -> bytes:
    def make(sheet: Any) -> None:
        sheet.append(("No", "Title", head))
        sheet.append((1, "Low Water", value))
        if form:
            sheet["C2"].number_format = form

    return xlsx(make)


def merged_artist(sheet: Any) -> None:
    for row in (HEADER, *ROWS):
        sheet.append(row)
    sheet["C3"].value = None
    sheet.merge_cells("C2:C3")


def merged_code(sheet: Any) -> None:
    for row in (HEADER, *ROWS):
        sheet.append(row)
    sheet["D2"].value, sheet["D3"].value = "ZZOSL26", None
    sheet.merge_cells("D2:D3")


def two_headers(sheet: Any) -> None:
    sheet.append(("No", "Title", "Composer", None, None, "Lyricist"))
    sheet.append((None, None, "Name", "IPI", "Share", "Name"))
    sheet.merge_cells("C1:E1")
    sheet.append((1, "Low Water", "Ilse Merrow", "00014107338", 100, "Tam Varrick"))


def block_above(sheet: Any) -> None:
    for row in (
        ("LABEL COPY",),
        ("Album:", "Harbour Arithmetic"),
        ("Artist", "Merrow & the Glass Tide"),
        ("UPC", "2000000140018"),
        ("Label: Ostrelune Records",),
        ("Producer", "Tam Varrick"),
        (),
        HEADER[:2],
    ):
        sheet.append(row)
    sheet.append(("1", "Low Water"))


def rows_x(*rows: tuple[Any, ...], hidden: str = "") -> bytes:
    """A workbook of *rows*, with one column hidden."""

    def make(sheet: Any) -> None:
        for row in rows:
            sheet.append(row)
        if hidden:
            sheet.column_dimensions[hidden].hidden = True

    return xlsx(make)


def formula(sheet: Any) -> None:
    sheet.append(("No", "Title", "ISRC"))
    sheet.append((1, "Low Water", '="ZZOSL26"&"00001"'))


def hidden_row(sheet: Any) -> None:
    for row in (HEADER, *ROWS):
        sheet.append(row)
    sheet.row_dimensions[3].hidden = True


def shared(sheet: Any) -> None:
    sheet.append(("No", "Title", "Writers", "Split"))
    sheet.append((1, "Low Water", "Ilse Merrow; Tam Varrick", 0.5))
    sheet["D2"].number_format = "0%"


def people(*pairs: str) -> bytes:
    """A sheet of one track with columns of people: header, value, header, value ..."""
    return csv(("1", "Low Water", *pairs[1::2]), head=("No", "Title", *pairs[::2]))


def two_writers(shares: str) -> bytes:
    return people("Writers", "Ilse Merrow; Tam Varrick", "Share", shares)


def split(one: float, other: float) -> tuple[dict[str, Any], ...]:
    return ({**BOTH_ROLES, "share_percent": one}, {**BOTH_ROLES, "name": "Tam Varrick", "share_percent": other})


def nothing(text: str) -> bytes:
    """One track with *text* in every field but the title."""
    fields = ("Version", "Artist", "ISRC", "Composer", "Publisher", "Share", "IPI", "Language", "Explicit", "Samples",
              "Key", "Duration", "Label", "UPC", "Release date", "P line", "Genre", "Territory")  # fmt: skip
    return csv(("1", "Low Water", *[text] * len(fields)), head=("No", "Title", *fields))


HEADERS: Mapping[str, tuple[str, ...]] = {
    "Hebrew": ("מס׳", "שם השיר", "אמן", "קוד ISRC", "משך", "לחן", "מילים"),
    "Japanese, other words": ("トラックNo.", "楽曲タイトル", "歌手", "ISRC番号", "演奏時間", "作曲家", "作詞家"),
    "Spanish, other words": (
        "N.º de pista",
        "Nombre de la canción",
        "Intérpretes",
        "Código ISRC",
        "Minutaje",
        "Compositor/es",
        "Autor de la letra",
    ),
    "Portuguese": ("Nº", "Nome da música", "Intérprete", "ISRC", "Tempo de duração", "Compositores", "Letra"),
    "Italian": ("N. traccia", "Titolo brano", "Artisti", "Codice ISRC", "Durata", "Musiche", "Testi"),
    "Dutch": ("Volgnummer", "Titel", "Uitvoerende", "ISRC", "Tijdsduur", "Muziek", "Tekst"),
    "Swedish": ("Spår", "Låttitel", "Artister", "ISRC", "Längd", "Kompositör", "Textförfattare"),
    "Finnish": ("Nro", "Kappaleen nimi", "Esittäjä", "ISRC", "Kesto", "Säveltäjä", "Sanoittaja"),
    "Polish": ("Lp.", "Tytuł utworu", "Wykonawca", "ISRC", "Czas trwania", "Kompozytor", "Autor tekstu"),
    "Czech": ("Číslo", "Název skladby", "Interpret", "ISRC", "Délka", "Hudba", "Autor textu"),
    "Hungarian": ("Sorszám", "Dal címe", "Előadó", "ISRC", "Hossz", "Zeneszerző", "Szövegíró"),
    "Turkish": ("Sıra No", "Şarkı adı", "Sanatçı", "ISRC Kodu", "Süre", "Besteci", "Söz yazarı"),
    "Russian": ("№", "Название трека", "Исполнитель", "Код ISRC", "Длительность", "Автор музыки", "Автор слов"),
    "Greek": ("Αρ.", "Τίτλος τραγουδιού", "Ερμηνευτής", "ISRC", "Διάρκεια", "Συνθέτης", "Στίχοι"),
    "Arabic": ("رقم", "عنوان الأغنية", "الفنان", "رمز ISRC", "المدة", "ألحان", "كلمات"),
    "Chinese": ("序号", "歌曲名称", "演唱者", "ISRC编码", "时长", "作曲", "作词"),
    "Chinese, traditional": ("序號", "歌曲名稱", "演唱者", "ISRC編碼", "時長", "作曲人", "填詞"),
    "Korean": ("번호", "곡명", "아티스트", "ISRC 코드", "재생시간", "작곡가", "작사가"),
}


BOTH = {"title": TITLES, "isrc": CODES}
ONE = {"title": ["Low Water"]}
WRITER = {"name": "Ilse Merrow", "roles": ("composer",)}
WORDS = {"name": "Tam Varrick", "roles": ("lyricist",)}
BOTH_ROLES = {"name": "Ilse Merrow", "roles": ("composer", "lyricist")}

CORPUS = (
    # --- OpenDocument
    Mess("an OpenDocument sheet", ods((HEADER, *ROWS)), BOTH | {"number": [1, 2], "duration": [225.0, 250.0]}),
    Mess(
        "an OpenDocument sheet with numbers, a clock time, a date and percent",
        ods(
            (
                ("No", "Title", "Length", "Release date", "UPC", "Writers", "Share"),
                (
                    1,
                    "Low Water",
                    time(3, 45),
                    date(2026, 11, 27),
                    cell(36000291452, "036000291452"),
                    "Ilse Merrow",
                    cell(1, "100%", valuetype="percentage"),
                ),
            )
        ),
        ONE | {"number": [1], "duration": [225.0], "writers": [({**BOTH_ROLES, "share_percent": 100.0},)]},
        {"release_date": "2026-11-27", "upc": "036000291452"},
        remarks=("the clock time 03:45:00 is read as 3 min 45 s",),
    ),
    Mess(
        "an OpenDocument sheet with a hidden column and a merged artist",
        ods(
            (
                ("No", "Title", "Title", "Artist"),
                (1, "Old", "Low Water", cell("Merrow", numberrowsspanned=2)),
                (2, "Older", "Tally of Lamps", covered()),
            ),
            hidden_columns=(1,),
        ),
        {"title": TITLES, "artists": [({"name": "Merrow", "role": "main"},)] * 2},
        remarks=("Column B ('Title') is hidden and not read", "merged over D2:D3"),
    ),
    Mess(
        "OpenDocument cells that say they repeat to the end of the sheet",
        ods((HEADER, *ROWS, (cell("", numbercolumnsrepeated=16384),), *[("",)] * 3)),
        BOTH,
    ),
    Mess(
        "an OpenDocument formula without a result, and an error",
        ods(
            (
                ("No", "Title", "ISRC"),
                (1, "Low Water", cell("", formula="of:=[.A1]")),
                (2, "Buoy", cell("#REF!", formula="of:=[.A99]")),
            )
        ),
        {"title": ["Low Water", "Buoy"]},
        faults=(("C2 ISRC", "a formula whose result was not stored"), ("C3 ISRC", "the spreadsheet's error #REF!")),
    ),
    # --- order, language, delimiters, encodings
    Mess("plain", csv(*ROWS), BOTH | {"number": [1, 2], "duration": [225.0, 250.0]}),
    Mess("another order of columns", csv(*(row[::-1] for row in ROWS), head=HEADER[::-1]), BOTH),
    Mess("semicolons", csv(*ROWS, delimiter=";"), BOTH),
    Mess("tabs in UTF-16, as spreadsheets save 'Unicode text'", csv(*ROWS, delimiter="\t", encoding="utf-16"), BOTH),
    Mess("a line that names the delimiter", b"sep=;\r\n" + csv(*ROWS, delimiter=";"), BOTH),
    Mess("UTF-8 with a mark", csv(*ROWS, encoding="utf-8-sig"), BOTH),
    Mess(
        "Windows-1252",
        csv(("1", "Été à quai", "A", "ZZOSL2600001", "3:45"), encoding="cp1252"),
        {"title": ["Été à quai"]},
        remarks=("read as Windows-1252",),
    ),
    *(
        Mess(
            f"{name}: {text}",
            csv(("1", text, "A", CODES[0], "3:45"), encoding=codec),
            {"title": [text]},
            remarks=(f"read as {name}",),
        )
        for name, codec, text in (
            ("Mac OS Roman", "mac_roman", "Été à quai"),
            ("Mac OS Roman", "mac_roman", "Über den Straßen"),
            ("Mac OS Roman", "mac_roman", "“Canción” del señor"),
            ("Windows-1252", "cp1252", "“Canción” del señor"),
            ("Windows-1252", "cp1252", "don’t – stop"),
            ("Shift JIS", "cp932", "潮の計算"),
            ("Windows-1251", "cp1251", "Северная вода"),
        )
    ),
    Mess(
        "accents that two encodings make words of",
        csv(("1", "schön", "A", "", ""), encoding="mac_roman"),
        refused="label copy.csv line 2: found 'schön' (Mac OS Roman) or 'schšn' (Windows-1252)",
    ),
    Mess(
        "quotation marks inside and blanks behind",
        b'No,Title,Artist\r\n1,"7"" Mix" ,7" Band\r\n2,"Low\r\nWater",A\r\n',
        {
            "title": ['7" Mix', "Low Water"],
            "artists": [({"name": '7" Band', "role": "main"},), ({"name": "A", "role": "main"},)],
        },
    ),
    Mess(
        "German header",
        csv(*ROWS, delimiter=";", head=("Nr.", "Titel", "Interpret", "ISRC", "Spieldauer")),
        BOTH | {"number": [1, 2]} | {"duration": [225.0, 250.0]},
    ),
    Mess(
        "French header",
        csv(*ROWS, head=("N°", "Titre", "Interprète", "Code ISRC", "Durée")),
        BOTH | {"duration": [225.0, 250.0]},
    ),
    Mess("Spanish header", csv(*ROWS, head=("Número", "Título", "Artista", "ISRC", "Duración")), BOTH),
    Mess(
        "Japanese header",
        csv(("1", "潮の計算", "A", "ZZOSL2600001", "3:45"), head=("曲順", "曲名", "アーティスト", "ISRC", "収録時間")),
        {"title": ["潮の計算"], "duration": [225.0]},
    ),
    *(
        Mess(
            f"{language} header",
            csv(("1", "Low Water", "Merrow", CODES[0], "3:45", "Ilse Merrow", "Tam Varrick"), head=head),
            {
                "number": [1],
                "title": ["Low Water"],
                "artists": [({"name": "Merrow", "role": "main"},)],
                "isrc": CODES[:1],
                "duration": [225.0],
                "composers": [("Ilse Merrow",)],
                "lyricists": [("Tam Varrick",)],
            },
        )
        for language, head in HEADERS.items()
    ),
    Mess(
        "capitals, stars, brackets and line ends in the header",
        csv(*ROWS, head=("TRACK #*", "TRACK TITLE\n(no version)", "Main Artist(s)", "ISRC-Code", "Duration [mm:ss]")),
        BOTH,
    ),
    Mess(
        "unknown columns",
        csv(("1", "Low Water", "blue"), head=("No", "Title", "Mood board")),
        ONE,
        remarks=("The column 'Mood board' is not read",),
    ),
    # --- blanks, accents, invisible signs
    Mess(
        "non-breaking and trailing blanks",
        csv(("1", " Low\u00a0Water  ", "A", "ZZ-OSL-26-00001\u00a0", "3:45")),
        {"title": ["Low Water"], "isrc": ["ZZOSL2600001"]},
    ),
    Mess("decomposed accents", csv(("1", "E\u0301te\u0301", "A", "ZZOSL2600001", "3:45")), {"title": ["Été"]}),
    Mess(
        "zero-width signs from a web page",
        csv(("1", "\ufeffLow\u200b Water", "A", "ZZOSL\u00ad2600001", "3:45")),
        {"title": ["Low Water"], "isrc": ["ZZOSL2600001"]},
    ),
    Mess(
        "double spaces inside a title stay for the eye",
        csv(("1", "Low  Water", "A", "", "")),
        {"title": ["Low  Water"]},
    ),
    # --- rows that are no tracks
    Mess("a totals row", csv(*ROWS, ("", "Total time", "", "", "7:55")), BOTH, remarks=("Row 4 is a sum",)),
    Mess("a song called Total is a song", csv(("1", "Total", "A", "ZZOSL2600001", "3:45")), {"title": ["Total"]}),
    Mess(
        "blank rows and the header again on page two",
        csv(ROWS[0], ("",) * 5, HEADER, ROWS[1]),
        BOTH,
        remarks=("Row 4 is the header again",),
    ),
    Mess(
        "disc headings",
        csv(("CD 1",), ROWS[0], ("CD 2",), ("1", "Tally of Lamps", "A", "ZZOSL2600002", "4:10")),
        BOTH | {"disc": [1, 2], "number": [1, 1]},
    ),
    Mess(
        "side headings and a closing note",
        csv(("Side A",), *ROWS, ("All songs are invented",)),
        BOTH | {"side": ["A", "A"]},
        remarks=("Row 2 is the heading of side A", "Row 5 has neither title nor number"),
    ),
    # --- sides of a record or cassette
    Mess(
        "side headings with lengths, numbers that begin again",
        csv(("SIDE A", "", "", "", "3:45"), ROWS[0], ("B-Seite", "", "", "", "4:10"), ("1", *ROWS[1][1:])),
        BOTH | {"side": ["A", "B"], "number": [1, 2]},
        remarks=("Row 2 is the heading of side A", "Row 4 is the heading of side B", "across sides: B1 is 2"),
    ),
    Mess(
        "a side heading above the table, the header again under the second",
        csv(("Side 1",), HEADER, ROWS[0], (), ("Side 2",), HEADER, ROWS[1], head=()),
        BOTH | {"side": ["A", "B"], "number": [1, 2]},
        remarks=("Row 1 is the heading of side A", "Row 5 is the heading of side B", "Row 6 is the header again"),
    ),
    Mess(
        "side headings of two records",
        csv(
            ("LP 1 - Side A",),
            ("1", "Low Water"),
            ("LP 1 - Side B",),
            ("1", "Tally of Lamps"),
            ("LP 2 - Side C",),
            ("1", "Buoy"),
            head=("No", "Title"),
        ),
        {"side": ["A", "B", "C"], "disc": [1, 1, 2], "number": [1, 2, 1]},
        remarks=(
            *(f"Row {row} is the heading of side {side}." for row, side in ((2, "A"), (4, "B"), (6, "C"))),
            "numbered across sides: B1 is 2, C1 is 1.",
        ),
    ),
    Mess(
        "sides lettered again on the second record",
        csv(
            ("1", "A", "1", "Low Water"),
            ("1", "B", "1", "Tally"),
            ("2", "A", "1", "Buoy"),
            head=("LP no.", "Side", "#", "Title"),
        ),
        {"side": ["A", "B", "C"], "disc": [1, 1, 2], "number": [1, 2, 1]},
        remarks=("lettered through all discs: A of disc 2 is C", "numbered across sides: B1 is 2, C1 is 1."),
    ),
    Mess(
        "a column of sides, filled in where a side begins",
        csv(("A", *ROWS[0]), ("", *ROWS[1]), ("B", "3", "Buoy", "", "", ""), head=("Seite", *HEADER)),
        {"side": ["A", "A", "B"], "number": [1, 2, 3]},
    ),
    Mess(
        "numbers counted on sides",
        csv(("A1", *ROWS[0][1:]), ("A2", *ROWS[1][1:]), ("B1", "Buoy", "", "", "")),
        {"title": [*TITLES, "Buoy"], "side": ["A", "A", "B"], "number": [1, 2, 3]},
        remarks=("B1 is 3",),
    ),
    Mess(
        "letters alone on a single",
        csv(("A", *ROWS[0][1:]), ("B", *ROWS[1][1:])),
        BOTH | {"side": ["A", "B"], "number": [None, None]},
    ),
    Mess(
        "a number and a column that name different sides",
        csv(("A1", "B", "Low Water"), head=("No", "Side", "Title")),
        ONE,
        faults=(("A2 Track no.", "'A1', but side B in B2"),),
    ),
    Mess(
        "a side that comes back",
        csv(("A", "Low Water"), ("B", "Tally"), ("A", "Buoy"), head=("Side", "Title")),
        {"side": ["A", "B", "A"]},
        faults=(("A4 Side", "side A again, after side B"),),
    ),
    Mess("a side without a letter", one("Side", "left"), ONE, faults=(("C2 Side", "'left'", "the letter of a side"),)),
    Mess(
        "the header again on a printed page, half of it known",
        csv(
            ("1", "Low Water", "x", "y"),
            ("No", "Title", "Mood", "Take by"),
            ("2", "Tally of Lamps", "x", "y"),
            head=("No", "Title", "Mood", "Take by"),
        ),
        {"title": TITLES, "number": [1, 2]},
        remarks=(
            "The column 'Mood' is not read; use --column 'Mood=FIELD' to read it.",
            "The column 'Take by' is not read; use --column 'Take by=FIELD' to read it.",
            "Row 3 is the header again: left out.",
        ),
    ),
    Mess(
        "a row's own disc counts, not the heading's",
        csv(("Disc 1",), ("1", "Low Water", ""), ("1", "Tally of Lamps", "2"), head=("No", "Title", "Disc")),
        {"title": TITLES, "disc": [1, 2], "number": [1, 1]},
    ),
    Mess(
        "ditto marks",
        csv(ROWS[0], ("2", "Tally of Lamps", '"', "ZZOSL2600002", "4:10")),
        BOTH | {"artists": [({"name": "Merrow & the Glass Tide", "role": "main"},)] * 2},
        remarks=("C3: '\"' repeats C2",),
    ),
    Mess(
        "a ditto mark under a code that became a number",
        table((1, "Low Water", 12), (2, "Tally of Lamps", '"'), head=("No", "Title", "ISRC")),
        faults=(("C2 ISRC", "made a number of it"), ("C3 ISRC", "made a number of it")),
        remarks=("C3: '\"' repeats C2",),
    ),
    Mess("rows in another order than their numbers", csv(*ROWS[::-1]), BOTH, remarks=("the numbers are used",)),
    # --- several header rows, blocks, merged cells
    Mess(
        "labels above the table",
        xlsx(block_above),
        ONE | {"credits": [({"name": "Tam Varrick", "role": "producer"},)]},
        {
            "album": "Harbour Arithmetic",
            "album_artist": "Merrow & the Glass Tide",
            "upc": "2000000140018",
            "label": "Ostrelune Records",
        },
        remarks=("Given once above the table, for every track: producer",),
    ),
    Mess(
        "two header rows, the upper one merged",
        xlsx(two_headers),
        ONE
        | {
            "writers": [
                (
                    {**WRITER, "share_percent": 100.0, "ipi": "00014107338"},
                    {"name": "Tam Varrick", "roles": ("lyricist",)},
                )
            ]
        },
    ),
    Mess(
        "two header rows, the group in the first columns",
        csv(
            ("Name", "IPI", "Share", "", ""),
            ("Ilse Merrow", "00014107338", 100, 1, "Low Water"),
            ("Tam Varrick", "", 100, 2, "Tally of Lamps"),
            head=("Composer", "", "", "No", "Title"),
        ),
        {"title": TITLES, "number": [1, 2]}
        | {
            "writers": [
                ({**WRITER, "roles": ("composer",), "share_percent": 100.0, "ipi": "00014107338"},),
                ({"name": "Tam Varrick", "roles": ("composer",), "share_percent": 100.0},),
            ]
        },
    ),
    Mess(
        "two header rows, the name in the second column of the first group",
        csv(
            ("IPI", "Name", "", ""),
            ("00014107338", "Ilse Merrow", 1, "Low Water"),
            head=("Composer", "", "No", "Title"),
        ),
        {"title": TITLES[:1], "writers": [({**WRITER, "roles": ("composer",), "ipi": "00014107338"},)]},
    ),
    Mess(
        "a second header row in capitals",
        csv(
            ("", "", "LEGAL NAME", "IPI"),
            (1, "Low Water", "Ilse Merrow", "00014107338"),
            head=("No", "Title", "Composer", ""),
        ),
        {"title": TITLES[:1], "writers": [({**WRITER, "roles": ("composer",), "ipi": "00014107338"},)]},
    ),
    Mess(
        "an artist merged over two rows",
        xlsx(merged_artist),
        BOTH | {"artists": [({"name": "Merrow & the Glass Tide", "role": "main"},)] * 2},
        remarks=("merged over C2:C3",),
    ),
    Mess(
        "a damaged code merged over two rows: a fault in each row, by its own cell",
        xlsx(merged_code),
        remarks=("'ZZOSL26', merged over D2:D3, counts for each of these rows.",),
        faults=(("D2", "ZZOSL26"), ("D3", "ZZOSL26")),
    ),
    Mess("rows that the sheet hides", xlsx(hidden_row), BOTH, remarks=("Hidden rows are read too: 3",)),
    # --- columns twice, columns hidden
    Mess(
        "a hidden column in front of the visible one",
        rows_x(("No", "Title", "Title", "ISRC"), (1, "Old name", "Low Water", CODES[0]), hidden="B"),
        ONE | {"isrc": CODES[:1]},
        remarks=("Column B ('Title') is hidden and not read; Title is read from column C",),
    ),
    Mess(
        "hidden composers of an older version",
        rows_x(("No", "Composer", "Title", "Composer"), (1, "Tam Varrick", "Low Water", "Ilse Merrow"), hidden="B"),
        {"composers": [("Ilse Merrow",)]},
        remarks=("Column B ('Composer') is hidden and not read",),
    ),
    Mess(
        "a hidden column that nothing replaces",
        rows_x(("No", "Title", "ISRC"), (1, "Low Water", CODES[0]), hidden="C"),
        ONE | {"isrc": CODES[:1]},
        remarks=("Column C ('ISRC') is hidden and is read all the same",),
    ),
    Mess(
        "two visible columns of one header that differ",
        csv(("1", "Low Water", CODES[0], CODES[1]), head=("No", "Title", "ISRC", "ISRC")),
        ONE,
        faults=(("D1 ISRC", "one column for ISRC", "Columns C and D differ"),),
    ),
    Mess(
        "a second column of another header",
        csv(("1", "Low Water", CODES[0], CODES[1]), head=("No", "Title", "ISRC", "ISRC (video)")),
        ONE | {"isrc": CODES[:1]},
        remarks=("Column D ('ISRC (video)') is a second column for ISRC and not read; column C is",),
    ),
    # --- outside the table
    Mess(
        "labels and values side by side above the table",
        csv(
            ("Album", "Harbour Arithmetic", "", "UPC", "2000000140018"),
            ("Label:", "Ostrelune Records", "", "Genre:", "Pop"),
            (),
            HEADER,
            *ROWS,
            head=(),
        ),
        BOTH,
        {"album": "Harbour Arithmetic", "upc": "2000000140018", "label": "Ostrelune Records", "genre": "Pop"},
    ),
    Mess(
        "labels above the table with their values below them",
        csv(("Artist", "Album", "Label"), ("Merrow", "Harbour Arithmetic", "Ostrelune"), (), HEADER, *ROWS, head=()),
        BOTH,
        {"album": "Harbour Arithmetic", "album_artist": "Merrow", "label": "Ostrelune"},
    ),
    Mess(
        "lines of rights in one cell each",
        csv(("℗ 2027 Ostrelune Records", "", "(C) 2026 Harbour Press"), (), HEADER, *ROWS, head=()),
        BOTH,
        {"p_line": "2027 Ostrelune Records", "c_line": "2026 Harbour Press"},
    ),
    Mess(
        "both rights in one line",
        csv(("℗ & © 2027 Ostrelune Records",), HEADER, *ROWS, head=()),
        BOTH,
        {"p_line": "2027 Ostrelune Records", "c_line": "2027 Ostrelune Records"},
    ),
    Mess(
        "rights below the table",
        csv(*ROWS, (), ("", "(P) 2027 Ostrelune / (C) 2026 Harbour Press")),
        BOTH,
        {"p_line": "2027 Ostrelune", "c_line": "2026 Harbour Press"},
        remarks=("Row 5 is a line of rights ('(P) 2027 Ostrelune / (C) 2026 Harbour Press'): left out.",),
    ),
    *(
        Mess(
            f"a day of release above the table as {row!r}",
            csv(row, (), HEADER, *ROWS, head=()),
            BOTH,
            {"release_date": "2026-11-27", "album": None},
        )
        for row in (
            ("Release date: 27.11.2026",),
            ("Release: 2026-11-27",),
            ("Release", "27.11.2026"),
            ("Release 27 November 2026",),
            ("VÖ 27.11.2026",),
            ("Release Date", "", "", "2026-11-27"),
            ("Erscheinungsdatum:", "27. November 2026"),
            ("Fecha de publicación: 27/11/2026",),
            ("発売日: 2026/11/27",),
        )
    ),
    Mess(
        "a day of release above the table, as a workbook stores it",
        rows_x(("Release", datetime(2026, 11, 27)), (), ("No", "Title"), (1, "Low Water")),
        ONE,
        {"release_date": "2026-11-27", "album": None},
    ),
    Mess(
        "a column of days called Release",
        one("Release", "27.11.2026"),
        ONE,
        {"release_date": "2026-11-27", "album": None},
    ),
    Mess(
        "a title above the table is one",
        csv(("Release: Harbour Arithmetic",), HEADER, *ROWS, head=()),
        BOTH,
        {"album": "Harbour Arithmetic"},
    ),
    Mess(
        "two days of release",
        csv(("Release date: 2026-11-27", "Release date: 2026-11-28"), HEADER, *ROWS, head=()),
        BOTH,
        faults=(("B1 Release date", "A1 has '2026-11-27'"),),
    ),
    Mess(
        "an unknown label above the table",
        csv(("Mood: blue",), HEADER, *ROWS, head=()),
        BOTH,
        remarks=("A1: 'Mood: blue' is not read",),
    ),
    # --- several tables
    Mess(
        "more tracks in a second table with other columns",
        csv(*ROWS, (), ("Bonus",), ("Title", "No", "ISRC"), ("Buoy", "3", "ZZOSL2600003")),
        {"title": [*TITLES, "Buoy"], "number": [1, 2, 3], "isrc": [*CODES, "ZZOSL2600003"]},
        remarks=(
            "A further table begins in A6; its 1 rows are read as tracks too",
            "Row 5 has neither title nor number ('Bonus'): left out.",
        ),
    ),
    Mess(
        "credits in a second table",
        csv(
            *ROWS,
            (),
            ("Title", "Composer", "Lyricist"),
            ("Tally of Lamps", "Ilse Merrow", "Tam Varrick"),
            ("Low Water", "Tam Varrick", ""),
        ),
        BOTH | {"composers": [("Tam Varrick",), ("Ilse Merrow",)], "lyricists": [None, ("Tam Varrick",)]},
        remarks=("A further table begins in A5; it is read as more about the same tracks",),
    ),
    Mess(
        "rights below a second table",
        csv(*ROWS, (), ("Title", "Composer"), ("Low Water", "Tam Varrick"), (), ("℗ & © 2027 Ostrelune Records",)),
        BOTH | {"composers": [("Tam Varrick",), None]},
        {"p_line": "2027 Ostrelune Records", "c_line": "2027 Ostrelune Records"},
        remarks=(
            "A further table begins in A5; it is read as more about the same tracks",
            "Row 8 is a line of rights ('℗ & © 2027 Ostrelune Records'): left out.",
        ),
    ),
    Mess(
        "a second table that contradicts the first",
        csv(*ROWS, (), ("Title", "ISRC"), ("Low Water", "ZZOSL2600009")),
        {"title": TITLES},
        remarks=("A further table begins in A5; it is read as more about the same tracks.",),
        faults=(("B6 ISRC", "'ZZOSL2600009', but 'ZZOSL2600001' in row 2"),),
    ),
    Mess(
        "a second table with the numbers of the first",
        csv(*ROWS, (), ("No", "Song", "Time"), ("1", "Demo of Buoy", "1:00")),
        BOTH,
        faults=(("A5 Title", "A further table begins in A5"),),
    ),
    Mess(
        "a table without titles below",
        csv(*ROWS, (), ("Composer", "IPI", "Publisher"), ("Ilse Merrow", "00014107338", "Quayside")),
        BOTH,
        remarks=("A further table begins in A5; it names no titles and is not read",),
    ),
    Mess(
        "two sides beside each other",
        csv(
            ("SIDE A", "", "", "", "SIDE B"),
            ("No", "Title", "Time", "", "No", "Title", "Time"),
            ("1", "Low Water", "3:45", "", "1", "Buoy", "2:00"),
            ("2", "Tally of Lamps", "4:10"),
            head=(),
        ),
        {"title": [*TITLES, "Buoy"], "side": ["A", "A", "B"], "number": [1, 2, 3]},
        remarks=(
            "A further table begins in E2; its 1 rows are read as tracks too.",
            "Row 1 is the heading of side A.",
            "Row 1 is the heading of side B.",
            "numbered across sides: B1 is 3.",
        ),
    ),
    Mess(
        "notes below numbered tracks",
        csv(*ROWS, (), ("", "Thank you!"), ("", "All songs are invented")),
        BOTH,
        remarks=tuple(
            f"Row {row} is a text below the table ({text!r}): left out."
            for row, text in ((5, "Thank you!"), (6, "All songs are invented"))
        ),
    ),
    Mess(
        "tracks whose cells say what a header would",
        csv(
            ("1", "Text", "Explicit", "Instrumental"),
            ("2", "Intro", "Explicit", "Instrumental"),
            head=("No", "Title", "Explicit", "Instrumental"),
        ),
        {"title": ["Text", "Intro"], "explicit": ["explicit"] * 2},
    ),
    # --- bar codes
    Mess(
        "a bar code that lost its zero",
        one("UPC", "36000291452"),
        ONE,
        {"upc": "036000291452"},
        remarks=("C2: 36000291452 has lost a leading zero, as its check digit proves: 036000291452",),
    ),
    Mess(
        "a bar code that lost its zero as a number",
        one_x("UPC", 36000291452),
        ONE,
        {"upc": "036000291452"},
        remarks=("check digit proves",),
    ),
    Mess("zeros shown by the cell's format", one_x("UPC", 36000291452, "000000000000"), ONE, {"upc": "036000291452"}),
    Mess(
        "a number whose every digit is there, though the cell shows a power of ten",
        one_x("EAN", 2000000140018, "0.00E+00"),
        ONE,
        {"upc": "2000000140018"},
    ),
    Mess(
        "scientific notation",
        one("EAN", "4.00638E+12"),
        ONE,
        faults=(("C2 UPC / EAN", "'4.00638E+12'", "power of ten"),),
    ),
    Mess("scientific notation with a comma", one("EAN", "4,00638E+12"), ONE, faults=(("'4,00638E+12'",),)),
    Mess("a rounded bar code", one("EAN", "4006380000000"), ONE, faults=(("'4006380000000'", "rounded"),)),
    Mess(
        "11 digits that no zero explains",
        one("UPC", "36000291453"),
        ONE,
        faults=(("'36000291453'", "With a zero in front"),),
    ),
    Mess(
        "a wrong check digit",
        one("EAN", "2000000140019"),
        ONE,
        faults=(("'2000000140019'", "the check digit would be 8"),),
    ),
    Mess(
        "two releases in one sheet",
        csv(("1", "A", "2000000140018"), ("2", "B", "4006381333931"), head=("No", "Title", "UPC")),
        {"title": ["A", "B"]},
        faults=(("C3 UPC / EAN", "'2000000140018' in C2 and '4006381333931'", "one for the whole release"),),
    ),
    # --- recording codes
    Mess(
        "codes with a prefix, blanks and small letters",
        csv(("1", "Low Water", "A", "ISRC zz osl 26 00001", "")),
        {"isrc": ["ZZOSL2600001"]},
    ),
    Mess(
        "one character short",
        csv(("1", "Low Water", "A", "ZZOSL260001", "")),
        ONE,
        faults=(("D2 ISRC", "'ZZOSL260001'", "It has 11 characters"),),
    ),
    Mess(
        "one code on two tracks",
        csv(ROWS[0], ("2", "Tally of Lamps", "A", "ZZ-OSL-26-00001", "4:10")),
        {"title": TITLES},
        faults=(("D3 ISRC", "which D2 has already"),),
    ),
    Mess(
        "a formula without a result", xlsx(formula), ONE, faults=(("C2 ISRC", "a formula whose result was not stored"),)
    ),
    Mess("an error value", table((1, "Low Water", "A", "#REF!", "3:45")), ONE, faults=(("D2 ISRC", "#REF!"),)),
    Mess(
        "codes to follow",
        csv(("1", "Low Water", "A", "TBC", "3:45")),
        {"isrc": [None]},
        remarks=("D2: 'TBC' counts as not supplied",),
    ),
    # --- durations
    Mess(
        "3:45 read as a clock time",
        one_x("Length", time(3, 45)),
        {"duration": [225.0], "duration_or": [13500.0]},
        remarks=("C2: the clock time 03:45:00 is read as 3 min 45 s",),
    ),
    Mess(
        "3:45 exported as a clock time",
        one("Length", "03:45:00"),
        {"duration": [225.0], "duration_or": [13500.0]},
        remarks=("is read as 3 min 45 s",),
    ),
    Mess(
        "0:45 read as a clock time",
        one_x("Length", time(0, 45)),
        {"duration": [45.0], "duration_or": [2700.0]},
        remarks=("C2: the clock time 00:45:00 is read as 0 min 45 s, or as 45 min 0 s if the file is that long",),
    ),
    Mess(
        "a pause of 0:02 read as a clock time",
        one_x("Gap before", time(0, 2)),
        {"gap_before": [None]},
        faults=(("C2", "00:02:00"),),
    ),
    Mess(
        "28:10 past the day's end",
        one_x("Length", timedelta(hours=28, minutes=10)),
        {"duration": [1690.0]},
        remarks=("28 min 10 s",),
    ),
    Mess("0:03:45 is what it says", one_x("Length", time(0, 3, 45)), {"duration": [225.0]}),
    Mess("an hour, two minutes and three seconds", one("Length", "1:02:03"), {"duration": [3723.0]}),
    Mess("minutes and seconds in words", one("Length", "3 min 45 s"), {"duration": [225.0]}),
    Mess("minutes and seconds by strokes", one("Length", "3'45\""), {"duration": [225.0]}),
    Mess("a part of a day", one("Length", "0.00260416666666667"), {"duration": [225.0]}, remarks=("part of a day",)),
    Mess(
        "a bare number that could be anything",
        one("Length", "3.45"),
        ONE,
        faults=(("C2 Duration", "'3.45'", "several things"),),
    ),
    # --- numbers and dates
    Mess(
        "1/2 turned into a date",
        table((datetime(2026, 2, 1), "Low Water", "A", "ZZOSL2600001", "3:45")),
        ONE,
        faults=(("A2 Track no.", "'2026-02-01'", "perhaps of '1/2'"),),
    ),
    Mess(
        "1/2 exported as a date",
        csv(("01.Feb", "Low Water", "A", "ZZOSL2600001", "3:45")),
        ONE,
        faults=(("A2 Track no.", "'01.Feb'", "If a spreadsheet made a date of '1/2'"),),
    ),
    Mess("1/12 as text", csv(("1/12", "Low Water", "A", "", "")), {"number": [1]}),
    Mess(
        "a title turned into a date",
        table((1, datetime(2026, 5, 5), "A", "ZZOSL2600001", "3:45")),
        {"isrc": ["ZZOSL2600001"]},
        faults=(("B2 Title", "'2026-05-05'", "A spreadsheet made a date of it"),),
    ),
    Mess("a real date", one_x("Release date", date(2026, 11, 27)), ONE, {"release_date": "2026-11-27"}),
    Mess("a date with dots", one("VÖ-Datum", "27.11.2026"), ONE, {"release_date": "2026-11-27"}),
    Mess("a date in words", one("Release date", "27 novembre 2026"), ONE, {"release_date": "2026-11-27"}),
    Mess(
        "a date that can be two",
        one("Release date", "05/06/2026"),
        ONE,
        faults=(("C2 Release date", "'05/06/2026'", "5 June or 6 May"),),
    ),
    Mess("a date that can be one only", one("Release date", "11/27/2026"), ONE, {"release_date": "2026-11-27"}),
    Mess(
        "a day that does not exist", one("Release date", "31.11.2026"), ONE, faults=(("'31.11.2026'", "no such day"),)
    ),
    Mess(  # ECMA-376 part 1, 18.17.4.3: day 1 is 1900-01-01, and 1900 counts as a leap year
        "a spreadsheet's day number",
        one("Release date", "46115"),
        ONE,
        faults=(("'46115'", "day number: 2026-04-03, or 2030-04-04 where days are counted from 1904"),),
    ),
    Mess(
        "the letter O where a zero belongs",
        one("ISRC", "ZZ-OSL-26-OOOO1"),
        {"title": ["Low Water"]},
        faults=(("C2 ISRC", "It has the letter O where a zero belongs (character 8 and character 9", "ZZOSL2600001?"),),
    ),
    Mess(
        "the letter l where a one belongs, in a bar code",
        one("UPC", "20000001400l8"),
        {"title": ["Low Water"]},
        faults=(("C2 UPC / EAN", "It has the letter L where a one belongs (character 12): 2000000140018?"),),
    ),
    # --- people
    Mess(
        "names by semicolon, line and slash",
        csv(
            ("1", "Low Water", "Ilse Merrow; Tam Varrick", "Odile Q\nAda R", "X Y / Z W"),
            head=("No", "Title", "Composer", "Lyrics by", "Producer"),
        ),
        {
            "composers": [("Ilse Merrow", "Tam Varrick")],
            "lyricists": [("Odile Q", "Ada R")],
            "credits": [({"name": "X Y", "role": "producer"}, {"name": "Z W", "role": "producer"})],
        },
    ),
    Mess(
        "surname first is one name",
        one("Composer", "Merrow, Ilse"),
        {"composers": [("Merrow, Ilse",)]},
        remarks=("read as one name",),
    ),
    Mess(
        "full names by comma are several",
        one("Composer", "Ilse Merrow, Tam Varrick"),
        {"composers": [("Ilse Merrow", "Tam Varrick")]},
    ),
    Mess(
        "one society for every mention of a name that stands in two columns",
        csv(
            ("1", "Low Water", "Ilse Merrow", "Ilse Merrow; Tam Varrick", "SALT; SALT; TIDE"),
            head=("No", "Title", "Composer", "Lyricist", "Society"),
        ),
        {
            "writers": [
                (
                    {"name": "Ilse Merrow", "roles": ("composer", "lyricist"), "society": "SALT"},
                    {"name": "Tam Varrick", "roles": ("lyricist",), "society": "TIDE"},
                )
            ]
        },
    ),
    Mess(
        "shares behind the names",
        one("Writers", "Ilse Merrow 60%; Tam Varrick (A) 40%"),
        {
            "writers": [
                (
                    {"name": "Ilse Merrow", "roles": ("composer", "lyricist"), "share_percent": 60.0},
                    {"name": "Tam Varrick", "roles": ("lyricist",), "share_percent": 40.0},
                )
            ]
        },
    ),
    *(
        Mess(
            f"shares behind the names: {text}",
            one("Writers", text),
            {"writers": [split(*shares)]},
            remarks=(f"C2: {text!r} is read as ",) if guessed else (),
        )
        for text, shares, guessed in (
            ("Ilse Merrow 1/2, Tam Varrick 1/2", (50.0, 50.0), False),
            ("Ilse Merrow 1/4; Tam Varrick 3 / 4", (25.0, 75.0), False),
            ("Ilse Merrow (1/2)/Tam Varrick (1/2)", (50.0, 50.0), True),
            ("Ilse Merrow 50 / Tam Varrick 50", (50.0, 50.0), True),
            ("Ilse Merrow 60, Tam Varrick 40", (60.0, 40.0), True),
            ("Ilse Merrow (62,5), Tam Varrick (37,5)", (62.5, 37.5), True),
            ("Ilse Merrow 0.5 & Tam Varrick 0.5", (50.0, 50.0), True),
        )
    ),
    Mess(
        "numbers behind names that are no shares",
        one("Writers", "Ilse Merrow 1, Tam Varrick 2"),
        {},
        faults=(("C2 Writers", "'Ilse Merrow 1, Tam Varrick 2'", "a share in percent"),),
    ),
    Mess(
        "persons in numbered columns",
        csv(
            ("1", "Low Water", "Ilse Merrow", "50%", "Tam Varrick", "50%"),
            head=("No", "Title", "Composer 1", "Share 1", "Composer 2", "Share 2"),
        ),
        {"writers": [({**WRITER, "share_percent": 50.0}, {**WRITER, "name": "Tam Varrick", "share_percent": 50.0})]},
    ),
    Mess(
        "shares of 90",
        csv(("1", "Low Water", "Ilse Merrow; Tam Varrick", "50; 40"), head=("No", "Title", "Composer", "Share")),
        ONE,
        faults=(("D2 Shares", "50 + 40 = 90 %", "100 %"),),
    ),
    Mess("one share for two writers", xlsx(shared), ONE, faults=(("D2 Shares", "'50%'", "2 shares"),)),
    Mess("thirds", one("Writers", "A B 33.33%; C D 33.33%; E F 33.33%"), ONE),
    Mess(
        "a share without a name",
        csv(("1", "Low Water", "", "100"), head=("No", "Title", "Composer", "Share")),
        ONE,
        faults=(("C2", "nobody, but '100' in D2", "legal name"),),
    ),
    Mess(
        "an artist's name where a legal one belongs",
        one("Composer", "Merrow"),
        {"composers": [("Merrow",)]},
        remarks=("'Merrow' is one word",),
    ),
    Mess(
        "a wrong IPI",
        csv(("1", "Low Water", "Ilse Merrow", "00014107339"), head=("No", "Title", "Composer", "IPI")),
        {"writers": [({**WRITER, "ipi": "00014107339"},)]},
        remarks=("D2: IPI name number 00014107339 is accepted as it is, but the check digit would be 38",),
    ),
    Mess(
        "an IPI that is too short",
        csv(("1", "Low Water", "Ilse Merrow", "1410733"), head=("No", "Title", "Composer", "IPI")),
        ONE,
        faults=(("D2 IPI", "'1410733'", "7 characters"),),
    ),
    Mess(
        "whom the artist's name means",
        csv(("1", "Low Water", "Merrow", "0000 0001 2281 955X"), head=("No", "Title", "Artist", "ISNI")),
        ONE,
        {"isni": ({"name": "Merrow", "code": "000000012281955X"},)},
    ),
    Mess(
        "codes as addresses, alone and behind a name",
        csv(
            ("1", "Low Water", "Merrow", "https://isni.org/isni/000000012281955X"),
            ("2", "Slack", "Tam Varrick", "Tam Varrick: https://isni.org/isni/0000000029534656"),
            head=("No", "Title", "Artist", "ISNI"),
        ),
        {"title": ["Low Water", "Slack"]},
        {
            "isni": (
                {"name": "Merrow", "code": "000000012281955X"},
                {"name": "Tam Varrick", "code": "0000000029534656"},
            )
        },
    ),
    Mess(
        "codes of several people in one cell",
        csv(
            ("1", "Low Water", "A One; B Two", "Ilse Merrow: ISNI 000000012281955X; B Two: 0000-0000-2953-465-6X"),
            head=("No", "Title", "Artist", "Artist ISNI"),
        ),
        ONE,
        faults=(("D2 ISNI", "17 characters"),),
    ),
    Mess(
        "a code of somebody the row does not name",
        csv(
            ("1", "Low Water", "A One; B Two", "Ilse Merrow: 000000012281955X; B Two: 0000-0000-2953-4656"),
            head=("No", "Title", "Artist", "Artist ISNI"),
        ),
        ONE,
        faults=(("D2 ISNI", "'Ilse Merrow'", "a name in this row"),),
    ),
    Mess(
        "two codes for one artist",
        csv(
            ("1", "Low Water", "Merrow", "000000012281955X"),
            ("2", "Slack", "Merrow", "0000 0000 2953 4656"),
            head=("No", "Title", "Artist", "ISNI"),
        ),
        {"title": ["Low Water", "Slack"]},
        faults=(("D3 ISNI", "0000 0000 2953 4656 for 'Merrow', which has 0000 0001 2281 955X in D2"),),
    ),
    Mess(
        "an ISNI that a spreadsheet made a number of",
        table((1, "Low Water", "Merrow", 121032683), head=("No", "Title", "Artist", "ISNI")),
        ONE,
        faults=(("D2 ISNI", "made a number of it"),),
    ),
    Mess(
        "an ISNI whose check digit is wrong",
        csv(("1", "Low Water", "Merrow", "0000000122819551"), head=("No", "Title", "Artist", "ISNI")),
        ONE,
        {"isni": ({"name": "Merrow", "code": "0000000122819551"},)},
        remarks=("D2: ISNI 0000 0001 2281 9551 is accepted as it is, but the check digit would be X",),
    ),
    Mess(
        "a recording code of a form that circulates",
        one("ISRC", "1ZOSL2600001"),
        {"isrc": ["1ZOSL2600001"]},
        remarks=("C2: ISRC 1ZOSL2600001 is accepted as it is, but it has 12 characters, where",),
    ),
    Mess(
        "an IPI that lost its zeros",
        csv(("1", "Low Water", "Ilse Merrow", "123456790"), head=("No", "Title", "Composer", "IPI")),
        {"writers": [({**WRITER, "ipi": "00123456790"},)]},
        remarks=("has lost leading zeros",),
    ),
    Mess(
        "a guest in the artist's cell",
        csv(("1", "Low Water", "Merrow feat. Low Lantern", "", "")),
        {"artists": [({"name": "Merrow", "role": "main"}, {"name": "Low Lantern", "role": "featured"})]},
        remarks=("read as a main artist",),
    ),
    # --- publishers and codes beside the names
    Mess(
        "one publisher for composer and lyricist",
        people("Composer", "Ilse Merrow", "Lyricist", "Tam Varrick", "Publisher", "Quayside Songs"),
        {"composers": [("Ilse Merrow",)], "lyricists": [("Tam Varrick",)], "publishers": [("Quayside Songs",)]},
    ),
    Mess(
        "a publisher for each, in one column after both names",
        people("Composer", "Ilse Merrow", "Lyricist", "Tam Varrick", "Publisher", "Quayside Songs; Low Rooms Music"),
        {"writers": [({**WRITER, "publisher": "Quayside Songs"}, {**WORDS, "publisher": "Low Rooms Music"})]},
    ),
    Mess(
        "a publisher column for each name",
        people(
            "Composer",
            "Ilse Merrow",
            "Publisher",
            "Quayside Songs",
            "Lyricist",
            "Tam Varrick",
            "Publisher",
            "Low Rooms",
        ),
        {"writers": [({**WRITER, "publisher": "Quayside Songs"}, {**WORDS, "publisher": "Low Rooms"})]},
    ),
    Mess(
        "composer and lyricist are one, and share a publisher",
        people("Composer", "Ilse Merrow", "Lyricist", "Ilse Merrow", "Publisher", "Quayside & Daughters"),
        {
            "writers": [
                ({"name": "Ilse Merrow", "roles": ("composer", "lyricist"), "publisher": "Quayside & Daughters"},)
            ]
        },
    ),
    Mess(
        "shares of composer and lyricist in one column",
        people("Composer", "Ilse Merrow", "Lyricist", "Tam Varrick", "Share", "60; 40"),
        {"writers": [({**WRITER, "share_percent": 60.0}, {**WORDS, "share_percent": 40.0})]},
    ),
    Mess(
        "headers that name whose they are",
        people(
            "Composer",
            "Ilse Merrow",
            "Lyricist",
            "Tam Varrick",
            "Composer Publisher",
            "Quayside",
            "Lyricist Publisher",
            "Low Rooms",
        ),
        {"writers": [({**WRITER, "publisher": "Quayside"}, {**WORDS, "publisher": "Low Rooms"})]},
    ),
    Mess(
        "one IPI for two people",
        people("Composer", "Ilse Merrow; Tam Varrick", "IPI", "00014107338"),
        ONE,
        faults=(("D2 IPI", "'00014107338'", "one for each of 2 persons"),),
    ),
    Mess(
        "a dash for the person without an IPI",
        people("Composer", "Ilse Merrow; Tam Varrick", "IPI", "-; 00014107338"),
        {"writers": [(WRITER, {**WRITER, "name": "Tam Varrick", "ipi": "00014107338"})]},
    ),
    Mess(
        "one society for two people",
        people("Composer", "Ilse Merrow; Tam Varrick", "Society", "SALT"),
        ONE,
        faults=(("D2 Society", "'SALT'", "one for each of 2 persons"),),
    ),
    # --- shares as people write them
    *(
        Mess(f"shares as {text!r}", two_writers(text), {"writers": [split(*shares)]})
        for text, shares in (
            ("50/50", (50, 50)),
            ("60/40", (60, 40)),
            ("60:40", (60, 40)),
            ("50%/50%", (50, 50)),
            ("60 - 40", (60, 40)),
            ("0.5; 0.5", (50, 50)),
            ("0,25; 0,75", (25, 75)),
            ("1/4; 3/4", (25, 75)),
            ("50% each", (50, 50)),
            ("je 50 %", (50, 50)),
            ("equal", (50, 50)),
            ("62,5 / 37,5", (62.5, 37.5)),
        )
    ),
    *(
        Mess(
            f"thirds as {text!r}",
            people("Writers", "Ilse Merrow; Tam Varrick; Odile Quay", "Share", text),
            {
                "writers": [
                    tuple(
                        {**BOTH_ROLES, "name": name, "share_percent": share}
                        for name in ("Ilse Merrow", "Tam Varrick", "Odile Quay")
                    )
                ]
            },
        )
        for text, share in (
            ("33.3; 33.3; 33.3", 33.3),
            ("33,3 / 33,3 / 33,3", 33.3),
            ("33/33/33", 33.0),
            ("1/3; 1/3; 1/3", 33.33),
            ("0.333; 0.333; 0.333", 33.3),
            ("1/3 each", 33.33),
        )
    ),
    Mess(
        "shares as parts of one in columns of their own",
        table(
            (1, "Low Water", "Ilse Merrow", 0.6, "Tam Varrick", 0.4),
            head=("No", "Title", "Composer 1", "Share 1", "Composer 2", "Share 2"),
        ),
        {"writers": [({**WRITER, "share_percent": 60.0}, {**WRITER, "name": "Tam Varrick", "share_percent": 40.0})]},
    ),
    Mess("a slip is not rounding", two_writers("50/49"), ONE, faults=(("D2 Shares", "'50/49'"),)),
    Mess("one number for two", two_writers("60"), ONE, faults=(("D2 Shares", "'60'", "2 shares"),)),
    Mess(
        "1/3 that a spreadsheet made a date of",
        table((1, "Low Water", "Ilse Merrow", datetime(2026, 3, 1)), head=("No", "Title", "Composer", "Share")),
        ONE,
        faults=(("D2 Shares", "perhaps of '1/3'"),),
    ),
    # --- several people in one cell
    *(
        Mess(
            f"two people as {text!r}",
            one("Composer", text),
            {"composers": [("Ilse Merrow", "Tam Varrick")]},
            remarks=("is read as 2 names",),
        )
        for text in (
            "Ilse Merrow & Tam Varrick",
            "Ilse Merrow and Tam Varrick",
            "Ilse Merrow und Tam Varrick",
            "Ilse Merrow/Tam Varrick",
            "Ilse Merrow + Tam Varrick",
            "Ilse Merrow et Tam Varrick",
        )
    ),
    Mess(
        "three people, comma and word",
        one("Composer", "Ilse Merrow, Tam Varrick and Odile Quay"),
        {"composers": [("Ilse Merrow", "Tam Varrick", "Odile Quay")]},
        remarks=("C2: 'Ilse Merrow, Tam Varrick and Odile Quay' is read as 3 names",),
    ),
    Mess(
        "Japanese names with their comma",
        one("作曲", "潮野渚、灯台守"),
        {"composers": [("潮野渚", "灯台守")]},
        remarks=("C2: '潮野渚、灯台守' is read as 2 names",),
    ),
    Mess("Japanese names with another comma", one("作詞", "潮野渚, 灯台守"), {"lyricists": [("潮野渚", "灯台守")]}),
    Mess("a surname of two", one("Composer", "Ortega y Varrick"), {"composers": [("Ortega y Varrick",)]}),
    *(
        Mess(f"one person or two: {text!r}", one("Composer", text), ONE, faults=(("C2 Composers", "2 names", "';'"),))
        for text in ("A & B", "A/B", "A und B", "Ilse & Tam Varrick", "Ilse Merrow y Tam Varrick")
    ),
    *(
        Mess(f"one act: {text!r}", one("Artist", text), {"artists": [({"name": text, "role": "main"},)]})
        for text in (
            "Merrow & the Glass Tide",
            "Merrow & Quay",
            "Ilse Merrow and Her Orchestra",
            "Tam Varrick & Friends",
        )
    ),
    *(
        Mess(f"one act or two: {text!r}", one("Artist", text), ONE, faults=(("C2 Artist", "one act or 2 names"),))
        for text in ("Ilse Merrow & Tam Varrick", "Low Lantern/Ilse Merrow", "Merrow x Low Lantern", "潮野渚、灯台守")
    ),
    Mess(
        "an act in quotation marks",
        one("Artist", '"Ilse Merrow & Tam Varrick"'),
        {"artists": [({"name": "Ilse Merrow & Tam Varrick", "role": "main"},)]},
    ),
    Mess(
        "the release's artist is one act on its tracks",
        csv(
            ("1", "Low Water", "Ilse Merrow & Tam Varrick", "Ilse Merrow & Tam Varrick"),
            head=("No", "Title", "Artist", "Album artist"),
        ),
        {"artists": [({"name": "Ilse Merrow & Tam Varrick", "role": "main"},)]},
    ),
    Mess(
        "two guests in the artist's cell",
        one("Artist", "Merrow feat. Low Lantern; Ada"),
        {
            "artists": [
                (
                    {"name": "Merrow", "role": "main"},
                    {"name": "Ada", "role": "main"},
                    {"name": "Low Lantern", "role": "featured"},
                )
            ]
        },
        remarks=("C2: 'Merrow feat. Low Lantern' is read as a main artist and a featured one.",),
    ),
    Mess("a firm called so", one("Publisher", "Quayside & Daughters"), {"publishers": [("Quayside & Daughters",)]}),
    # --- words that represent the cell above, or for another
    *(
        Mess(
            f"the composer above as {text!r}",
            csv(("1", "Low Water", "Ilse Merrow"), ("2", "Tally of Lamps", text), head=("No", "Title", "Composer")),
            {"composers": [("Ilse Merrow",)] * 2},
            remarks=(f"C3: {text!r} repeats C2",),
        )
        for text in (
            "dito",
            "Ditto",
            "idem",
            "s.o.",
            "siehe oben",
            "same as above",
            "as above",
            "同上",
            '-"-',
            "see track 1",
            "siehe Titel 1",
            "wie Track 1",
            "same as 1",
            "see Low Water",
        )
    ),
    Mess(
        "a ditto mark under a heading",
        csv(
            ("Side A",),
            ("1", "Low Water", "Ilse Merrow"),
            ("Side B",),
            ("2", "Tally", '"'),
            head=("No", "Title", "Composer"),
        ),
        {"composers": [("Ilse Merrow",)] * 2},
        remarks=("Row 2 is the heading of side A.", "Row 4 is the heading of side B.", "C5: '\"' repeats C3."),
    ),
    Mess(
        "see a track further down, which says ditto",
        csv(
            ("1", "A", "see track 3"), ("2", "B", "Ilse Merrow"), ("3", "C", "ditto"), head=("No", "Title", "Composer")
        ),
        {"composers": [("Ilse Merrow",)] * 3},
        remarks=("C2: 'see track 3' repeats C3.", "C4: 'ditto' repeats C3."),
    ),
    Mess(
        "ditto in the first row",
        one("Composer", "dito"),
        ONE,
        faults=(("C2 Composers", "'dito'", "It repeats nothing"),),
    ),
    Mess(
        "rows that point at each other",
        csv(("1", "A", "see track 2"), ("2", "B", "see track 1"), head=("No", "Title", "Composer")),
        {"title": ["A", "B"]},
        faults=(("C2 Composers", "repeats nothing"), ("C3 Composers", "repeats nothing")),
    ),
    Mess(
        "ditto under an empty cell",
        csv(("1", "A", ""), ("2", "B", "idem"), head=("No", "Title", "Composer")),
        {"composers": [None, None]},
        faults=(("C3 Composers", "C2 is empty"),),
    ),
    Mess(
        "see a track that is not there",
        one("Composer", "see track 9"),
        ONE,
        faults=(("C2 Composers", "'see track 9'", "repeats nothing"),),
    ),
    Mess(
        "see several tracks",
        one("Composer", "see tracks 3 and 4"),
        ONE,
        faults=(("C2 Composers", "refers to another name"),),
    ),
    Mess(
        "ditto as one of several names",
        one("Composer", "Ilse Merrow; idem"),
        ONE,
        faults=(("C2 Composers", "'idem' refers to another name"),),
    ),
    Mess(
        "a lyricist who is the composer beside",
        csv(("1", "Low Water", "Ilse Merrow", "idem"), head=("No", "Title", "Composer", "Lyricist")),
        {"composers": [("Ilse Merrow",)], "lyricists": [("Ilse Merrow",)]},
        remarks=("D2: 'idem' repeats C2",),
    ),
    Mess(
        "a lyricist who is the composer beside, or the lyricist above",
        csv(
            ("1", "Low Water", "Ilse Merrow", "Tam Varrick"),
            ("2", "Buoy", "Odile Quay", "dito"),
            head=("No", "Title", "Composer", "Lyricist"),
        ),
        {"composers": [("Ilse Merrow",), ("Odile Quay",)], "lyricists": [("Tam Varrick",), None]},
        faults=(("D3 Lyricists", "'dito'", "D2", "C3"),),
    ),
    Mess(
        "ditto in both columns of names",
        csv(
            ("1", "Low Water", "Ilse Merrow", "Tam Varrick"),
            ("2", "Buoy", "dito", "dito"),
            head=("No", "Title", "Composer", "Lyricist"),
        ),
        {"composers": [("Ilse Merrow",)] * 2, "lyricists": [("Tam Varrick",)] * 2},
        remarks=("C3: 'dito' repeats C2.", "D3: 'dito' repeats D2."),
    ),
    Mess(
        "a title that may be ditto",
        csv(("1", "Low Water"), ("2", "Ditto"), head=("No", "Title")),
        {"title": ["Low Water", None]},
        faults=(("B3 Title", "'Ditto'", "Write the value of B2"),),
    ),
    Mess(
        "a title in quotation marks, to be believed",
        csv(("1", "Low Water"), ("2", '"Ditto"'), head=("No", "Title")),
        {"title": ["Low Water", "Ditto"]},
    ),
    # --- words for nothing
    *(
        Mess(
            f"{text!r} in every field",
            nothing(text),
            {
                "title": ["Low Water"],
                "version": [None],
                "artists": [None],
                "isrc": [None],
                "composers": [None],
                "publishers": [None],
                "language": [None],
                "explicit": [None],
                "samples": [None],
                "key": [None],
                "writers": [None],
            },
            {"label": None, "upc": None, "release_date": None, "p_line": None, "genre": None, "territories": None},
            remarks=tuple(f"{column}2: {text!r} counts as not supplied." for column in "CDEFGHIJKLMNOPQRST"),
        )
        for text in ("n/a", "N/A", "-", "–", "TBC", "tba", "?", "k.A.")
    ),
    Mess(
        "'none' where it can mean nothing else",
        csv(
            ("1", "Low Water", "none", "None", "keine", "none", "none"),
            head=("No", "Title", "Featured", "Composer", "Publisher", "Samples", "Explicit"),
        ),
        {"artists": [None], "composers": [None], "publishers": [None], "samples": [()], "explicit": ["no"]},
        remarks=tuple(
            f"{place}: {text!r} counts as not supplied."
            for place, text in (("C2", "none"), ("D2", "None"), ("E2", "keine"))
        ),
    ),
    *(
        Mess(f"{text!r} as {head}", one(head, text), ONE, faults=((f"C2 {title}", f"'{text}'", "quotation marks"),))
        for head, title, text in (
            ("Artist", "Artist", "None"),
            ("Album", "Release title", "TBC"),
            ("Artist", "Artist", "Unknown"),
        )
    ),
    Mess(
        "'TBC' as a title", csv(("1", "TBC"), head=("No", "Title")), {"title": [None]}, faults=(("B2 Title", "'TBC'"),)
    ),
    Mess("'none' as a language", one("Language", "none"), ONE, faults=(("C2 Language of lyrics", "'instrumental'"),)),
    Mess(
        "a composer to come",
        one("Composer", "Ilse Merrow; TBC"),
        ONE,
        faults=(("C2 Composers", "'TBC' is a placeholder for a name"),),
    ),
    # --- flags, languages, countries, samples
    Mess(
        "yes and no in the client's words",
        csv(
            ("1", "A", "Ja", "nein"),
            ("2", "B", "clean", ""),
            ("3", "C", "Nicht explizit", "x"),
            head=("No", "Title", "Explizit", "Instrumental"),
        ),
        {"explicit": ["explicit", "clean", "no"], "instrumental": [False, None, True]},
    ),
    Mess(
        "neither yes nor no",
        one("Explicit", "maybe"),
        ONE,
        faults=(("C2 Explicit", "'maybe'", "explicit, clean or no"),),
    ),
    Mess(
        "languages by name",
        csv(
            ("1", "A", "Portuguese"),
            ("2", "B", "Deutsch"),
            ("3", "C", "instrumental"),
            head=("No", "Title", "Language"),
        ),
        {"language": ["pt", "de", None], "instrumental": [None, None, True]},
    ),
    Mess(
        "a language nobody speaks",
        one("Language", "Harbourish"),
        ONE,
        faults=(("C2 Language of lyrics", "'Harbourish'", "ISO 639"),),
    ),
    Mess(
        "countries by name and by habit",
        csv(("1", "A", "UK"), ("2", "B", "Japan"), head=("No", "Title", "Recording country")),
        {"recording_country": ["GB", "JP"]},
        remarks=("GB in ISO 3166-1",),
    ),
    Mess("a country that is none", one("Recording country", "Atlantis"), ONE, faults=(("'Atlantis'", "ISO 3166-1"),)),
    Mess(
        "samples",
        one("Samples", "Low Lantern: Tally Sticks (cleared: letter of May); Ada: Buoy"),
        {
            "samples": [
                (
                    {"of": "Low Lantern: Tally Sticks", "cleared": True, "by": "letter of May"},
                    {"of": "Ada: Buoy", "cleared": False},
                )
            ]
        },
    ),
    Mess("no samples", one("Samples", "none"), {"samples": [()]}),
    Mess("a work's code", one("ISWC", "T-034.524.680-1"), {"iswc": ["T0345246801"]}),
    Mess(
        "a work's odd code",
        one("ISWC", "T-034.524.680-2"),
        {"iswc": ["T0345246802"]},
        remarks=("C2: ISWC T-034.524.680-2 is accepted as it is, but the check digit would be 1",),
    ),
    Mess("territories", one("Territory", "World"), ONE, {"territories": ("worldwide",)}),
    Mess(
        "numbers used twice",
        csv(("1", "A", "", "", ""), ("1", "B", "", "", "")),
        {"title": ["A", "B"]},
        faults=(("A3 Track no.", "number 1, which A2 has already"),),
    ),
    Mess(
        "a code and no title",
        csv(("1", "", "A", "ZZOSL2600001", "")),
        {"isrc": ["ZZOSL2600001"]},
        faults=(("B2 Title", "nothing"),),
    ),
    # --- of no use at all
    Mess(
        "no header", csv(*ROWS, head=()), refused="no row that names the columns (the fullest row has '1', 'Low Water'"
    ),
    Mess("a header and nothing else", csv(), refused="a header and no track below it"),
    Mess("an empty file", b"  \r\n", refused="an empty file"),
    Mess(
        "an old workbook",
        b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(100),
        refused="an old or a password-protected workbook",
    ),
    Mess("a PDF", b"%PDF-1.7\n%....", refused="found a PDF"),
    Mess("an archive that is no workbook", b"PK\x03\x04" + bytes(100), refused="a workbook that is cut off or damaged"),
    Mess("bytes that are no text", bytes(range(256)), refused="bytes that are no text"),
    Mess(
        "a quotation mark that is never closed",
        csv(*ROWS) + b'"3,Song' + b"\r\nrow" * 80,
        refused="label copy.csv A4: found a quotation mark that is not closed",
    ),
    *(
        Mess(
            f"a quotation mark {what}",
            text.encode(),
            refused=f"label copy.csv {place}: found a quotation mark that is not closed",
        )
        for what, text, place in (
            ("that takes the next row", 'No,Title,Artist\n1,"Low Water,A\n2,Tally of 7",B\n3,Buoy,C\n', "B2"),
            ("closed by the next one's", 'No,Title,Artist\n1,"Low Water,A\n2,"Tally",B\n', "B2"),
            ("that takes all further rows", 'No,Title,Artist\n1,Low Water,"A\n2,Tally,B\n3,Buoy,C\n', "C2"),
            ("in a quoted cell", 'No,Title,Artist\n1,"7" Mix",A\n', "B2"),
        )
    ),
    Mess("a workbook cut off", table(*ROWS)[:-200], refused="a workbook that is cut off or damaged"),
    Mess("a workbook without text", xlsx(lambda _sheet: None), refused="a workbook without any text"),
)
