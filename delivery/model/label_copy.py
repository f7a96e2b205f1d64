"""The fields of label copy: what a sheet may hold, how its columns are headed, and by which words others head them.

A new word is a new word here. Words are compared without case, accents and punctuation; figures in a header
('Composer 2') count the person. Common practice, no source: collected from the field names of trade templates and
translated.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Column:
    id: str
    title: str
    """As our own sheets head it."""
    says: str
    """What belongs there, for whoever fills it in."""
    words: str
    """By which others head it, parted by '|'."""
    of_release: bool = False


# fmt: off
_ROWS = (
    Column("disc", "Disc", "disc number",
           "disc|disk|cd|disc no|disc number|volume no|cd nr|disque|disco|schijf|skiva|lp no|lp nr|lp number|platte"),
    Column("number", "Track no.", "number on its disc",
           "track|no|nr|number|num|track no|track nr|track number|track num|position|pos|seq|sequence|trk|"
           "titelnr|track position|titelnummer|spur|plage|n|no piste|numero|numero de piste|piste|pista|"
           "faixa|numero de pista|traccia|spår|spor|#|曲順|トラック|トラック番号|lp|numer"),
    Column("side", "Side", "side of a record or cassette: A, B ...",
           "side|sides|vinyl side|lp side|record side|tape side|cassette side|side letter|seite|lp seite|plattenseite|"
           "face|lado|cara|lato|kant|sida|strona|puoli|сторона|πλευρα|צד|面|サイド"),
    Column("title", "Title", "title, without its version",
           "title|track title|song|song title|track name|song name|titel|songtitel|tracktitel|liedtitel|"
           "titre|titre du morceau|titre de la piste|titulo|titulo de la cancion|titulo da faixa|cancion|"
           "titolo|titolo del brano|brano|nummer titel|lattitel|tittel|kappale|tytul|曲名|タイトル|楽曲名"),
    Column("version", "Version", "only if not the standard one: Radio Edit, Instrumental",
           "version|mix|remix name|track version|version title|mix name|subtitle|versionstitel|untertitel|"
           "fassung|version du titre|versione|versao|versie|バージョン"),
    Column("artist", "Artist", "who plays; several with ';'",
           "artist|artists|track artist|main artist|primary artist|performer|performers|kunstler|interpret|"
           "hauptinterpret|interpreten|artiste|interprete|artiste principal|artista|artistas|"
           "artista principal|artiest|artist namn|utforare|wykonawca|アーティスト|アーティスト名|display artist"),
    Column("featured", "Featured artists", "guests; several with ';'",
           "featured|featuring|feat|ft|featured artist|featured artists|guest|guests|gast|gaste|invite|"
           "invites|artista invitado|artista convidado|ospite|con la participacion de"),
    Column("remixer", "Remixers", "several with ';'",
           "remixer|remixers|remixed by|remix by|remixeur"),
    Column("isni", "ISNI", "of the artists, in their order; of anybody else as 'name: code', parted by ';'",
           "isni|isni code|isni nr|isni no|isni number|artist isni|isni artist|isnis|composer isni|writer isni|"
           "performer isni|code isni"),
    Column("duration", "Duration", "minutes:seconds",
           "duration|length|time|playing time|play time|running time|track length|dauer|spieldauer|lange|"
           "laufzeit|spielzeit|duree|minutage|duracion|tiempo|duracao|durata|duur|speelduur|speltid|langd|"
           "varighet|czas|収録時間|再生時間|timing|total time"),
    Column("isrc", "ISRC", "12 letters and digits",
           "isrc|isrc code|isrc nr|isrc no|isrc number|code isrc|codigo isrc|codice isrc|isrcコード"),
    Column("iswc", "ISWC", "code of the work",
           "iswc|iswc code|code iswc"),
    Column("explicit", "Explicit", "explicit, clean or no",
           "explicit|explicit content|explicit lyrics|parental advisory|advisory|pa|explizit|explicite|"
           "paroles explicites|explicito|esplicito|expliciet|clean explicit|explicit clean"),
    Column("instrumental", "Instrumental", "yes or no",
           "instrumental|instr|no vocals|strumentale|instrumentaal"),
    Column("language", "Language of lyrics", "en, de, ja ... or its English name",
           "language|lyrics language|language of lyrics|lyric language|audio language|sprache|textsprache|"
           "langue|langue des paroles|idioma|idioma de la letra|idioma da letra|lingua|taal|sprak|言語"),
    Column("title_language", "Language of title", "if it differs from the release's",
           "title language|language of title|metadata language|titelsprache|langue du titre|"
           "idioma del titulo"),
    Column("composer", "Composers", "legal names; several with ';'",
           "composer|composers|composed by|music|music by|komponist|komponisten|musik|compositeur|"
           "compositeurs|musique|compositor|compositores|musica|compositore|compositori|componist|"
           "kompositor|kompozytor|作曲|作曲者"),
    Column("lyricist", "Lyricists", "legal names; several with ';'",
           "lyricist|lyricists|lyrics|lyrics by|words|words by|author of lyrics|textdichter|text|texter|"
           "textautor|texte|parolier|paroles|auteur|letrista|letra|autor de la letra|testo|paroliere|"
           "autore|tekstschrijver|tekst|textforfattare|作詞|作詞者|author|authors"),
    Column("writer", "Writers", "who wrote both words and music",
           "writer|writers|songwriter|songwriters|written by|composer lyricist|composer author|"
           "music and lyrics|words and music|urheber|musik und text|auteur compositeur|"
           "auteurs compositeurs|autor|autores|composers lyricists|composers authors|songwriter s|autori|"
           "auteurs"),
    Column("share", "Shares %", "of the persons to the left, in their order; they add up to 100",
           "share|shares|share %|split|splits|percent|percentage|share percent|anteil|anteile|part|parts|"
           "repartition|porcentaje|porcentagem|percentuale|quota|aandeel|%"),
    Column("ipi", "IPI", "11 digits, in the same order",
           "ipi|cae|ipi cae|cae ipi|ipi number|ipi no|ipi nr|ipi name number|ipi name no"),
    Column("society", "Society", "collecting society, in the same order",
           "society|pro|collecting society|verwertungsgesellschaft|societe|sociedad|sociedade|societa|cmo"),
    Column("publisher", "Publishers", "in the same order",
           "publisher|publishers|publishing|music publisher|verlag|verlage|musikverlag|editeur|editeurs|"
           "editorial|editora|editore|edizioni|uitgever|forlag|出版社|edition"),
    Column("producer", "Producers", "several with ';'",
           "producer|producers|produced by|produzent|produzenten|producteur|realisateur|productor|produtor|"
           "produttore|producent|プロデューサー"),
    Column("mixer", "Mixers", "several with ';'",
           "mixer|mixers|mixed by|mix engineer|mixing engineer|mischung|mixe par|mezclado por|mixage|"
           "missaggio"),
    Column("mastering_engineer", "Mastering engineers", "several with ';'",
           "mastering|mastered by|mastering engineer|mastering engineers|masterise par|masterizado por"),
    Column("recording_studio", "Studio", "where it was recorded",
           "studio|recording studio|recorded at|recording location|aufnahmestudio|aufnahmeort|"
           "studio d enregistrement|estudio|estudio de grabacion|studio di registrazione|opnamestudio"),
    Column("recording_country", "Recording country", "two letters, or its English name",
           "recording country|country of recording|country|land|aufnahmeland|pays|pays d enregistrement|"
           "pais|paese"),
    Column("recording_year", "Recording year", "four digits",
           "recording year|year of recording|year recorded|aufnahmejahr|annee d enregistrement|"
           "ano de grabacion|ano de gravacao|anno di registrazione|opnamejaar"),
    Column("bpm", "BPM", "beats a minute",
           "bpm|tempo"),
    Column("key", "Key", "D minor",
           "key|musical key|tonart|tonalite|tonalidad|tonalita"),
    Column("preview_start", "Preview start", "minutes:seconds",
           "preview|preview start|preview start time|clip start|sample start|snippet start|vorhorstart|"
           "extrait"),
    Column("samples", "Samples", "'none', or artist and title of each; '(cleared)' behind those that are",
           "samples|sample|samples used|contains samples|sample clearance|sample clearances"),
    Column("other_credits", "Other credits", "function: name; function: name",
           "other credits|credits|musicians|players|personnel|line up|besetzung|mitwirkende|credits artistiques"),
    Column("original_artist", "Original artist", "of a song played anew",
           "original artist|originally performed by|cover of|originalinterpret"),
    Column("gap_before", "Gap before", "seconds of silence before the track",
           "gap|gap before|pause|pause before|pregap|pausen"),
    Column("only_for", "Only for", "specs that alone receive the track, by their ids; several with ';'",
           "only for"),
    Column("not_for", "Not for", "specs that do not receive the track, by their ids; several with ';'",
           "not for"),
    Column("file", "File", "name of the master",
           "file|filename|file name|audio file|wav|dateiname|datei|fichier|archivo|arquivo|nome file|"
           "bestand"),
    Column("album", "Release title", "title of the release",
           "album|album title|release|release title|release name|product title|albumtitel|titre de l album|"
           "titulo del album|titulo do album|titolo album|アルバム|アルバム名|album name|ep title",
           of_release=True),
    Column("album_version", "Release version", "only if not the standard one",
           "album version|release version|edition title",
           of_release=True),
    Column("album_artist", "Release artist", "name the release is shown under",
           "album artist|release artist|albumartist|albumkunstler|artiste de l album|artista del album|"
           "artista do album|artista album|アルバムアーティスト",
           of_release=True),
    Column("label", "Label", "label",
           "label|record label|labelname|label name|sello|selo|etichetta|レーベル",
           of_release=True),
    Column("catalogue_number", "Catalogue no.", "the label's own number",
           "catalogue|catalog|catalogue no|catalog no|catalogue number|catalog number|cat no|cat nr|cat|"
           "katalognummer|katalog nr|bestellnummer|numero de catalogue|reference|numero de catalogo|"
           "catalogo|catalogusnummer|品番",
           of_release=True),
    Column("upc", "UPC / EAN", "12 or 13 digits",
           "upc|ean|upc ean|ean upc|barcode|bar code|gtin|upc code|ean code|strichcode|code barre|"
           "code barres|codigo de barras|codice a barre|upc number|jan",
           of_release=True),
    Column("release_date", "Release date", "year-month-day",
           "release date|date of release|street date|releasedate|veroffentlichung|veroffentlichungsdatum|"
           "vo|vo datum|date de sortie|sortie|fecha de lanzamiento|fecha de publicacion|data de lancamento|"
           "data di uscita|releasedatum|発売日|digital release date|released|release day|erscheinungsdatum|"
           "erscheinungstag|erscheint am|veroffentlicht am|date de parution|parution|fecha de salida|"
           "fecha de estreno|data de publicacao|data uscita|uscita|publication date|date of publication|"
           "utgivningsdatum|data premiery|リリース日|リリース|配信日|дата релиза|дата выхода|תאריך יציאה|"
           "תאריך הוצאה|תאריך פרסום|发行日期|發行日期",
           of_release=True),
    Column("original_date", "Original release date", "of a reissue: the day of the first release",
           "original release date|original date|first release|erstveroffentlichung|"
           "date de sortie originale|fecha de lanzamiento original",
           of_release=True),
    Column("p_line", "(P) line", "year and owner of the recording",
           "p line|p|p copyright|phonogram|phonographic copyright|sound recording copyright|pline|p notice|"
           "p year owner|p vermerk",
           of_release=True),
    Column("c_line", "(C) line", "year and owner of artwork and texts",
           "c line|c|copyright|c copyright|cline|c notice|c vermerk",
           of_release=True),
    Column("genre", "Genre", "genre",
           "genre|main genre|primary genre|hauptgenre|genero|genere|style|ジャンル",
           of_release=True),
    Column("subgenre", "Sub-genre", "narrower genre",
           "subgenre|sub genre|secondary genre|subgenero|sottogenere",
           of_release=True),
    Column("release_language", "Language of titles", "en, de, ja ... or its English name",
           "language of titles|release language|album language|sprache der titel|langue des titres",
           of_release=True),
    Column("territories", "Territories", "worldwide, or countries",
           "territory|territories|territorium|gebiet|territoire|territoires|territorio|territorios|"
           "rights territory",
           of_release=True),
    Column("client", "Client", "who ordered the work",
           "client|customer|kunde|auftraggeber|cliente|ordered by",
           of_release=True),
)
# fmt: on

COLUMNS: Mapping[str, Column] = {column.id: column for column in _ROWS}
"""By id, in the order of our own sheets."""

ROUTES = ("only_for", "not_for")
"""Shown only where a release has tracks that not every spec receives; nobody is asked to fill them in."""

_ACTS = ("=", "+", "-", "@", "\t", "\r")


def inert(text: str) -> str:
    """A cell that a spreadsheet takes for text: one that could start a formula gets an apostrophe in front."""
    return f"'{text}" if text.startswith(_ACTS) else text
