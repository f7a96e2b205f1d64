"""The release as a whole. Rows of the table of label-copy fields, see `row.py`."""

from __future__ import annotations

from delivery.model.fields.row import HEADING, NO_TAG, NOT_PRINTED, NOT_STORED, Field, Kept, Tag

# fmt: off
ROWS: tuple[Field, ...] = (
    Field(id="album", title="Release title", meaning="title of the release",
          words=(
              "album|album title|release|release title|release name|product title|albumtitel|titre de l album|"
              "titulo del album|titulo do album|titolo album|アルバム|アルバム名|album name|ep title|"
              "titulo del disco|nombre del album|titulo del lanzamiento|lanzamiento|nome do album|"
              "titulo do lancamento|lancamento|nome album|titolo dell album|titolo disco|titre album|"
              "nom de l album|titre du projet|name des albums|produkttitel|titel des albums|"
              "veroffentlichungstitel|albumnaam|titel album|albumets titel|albumin nimi|tytul albumu|tytul plyty|"
              "nazev alba|album cime|album adi|альбом|название альбома|название релиза|релиз|τιτλος αλμπουμ|"
              "αλμπουμ|אלבום|שם האלבום|الألبوم|اسم الألبوم|アルバムタイトル|作品タイトル|商品名|专辑|專輯|专辑名|"
              "专辑名称|專輯名稱|앨범|앨범명|앨범 제목|single title"
          ),
          key="title", of_release=True, kept=Kept.OWN,
          tag=Tag("album", "Album",
                  id3="TALB", vorbis="ALBUM", mp4="©alb", info="IPRD", bext=NOT_STORED,
                  axml=NOT_STORED),
          json_ld="name", required_as="title", on_sheet=HEADING),
    Field(id="album_version", title="Release version", meaning="only if not the standard one",
          words="album version|release version|edition title",
          key="version", of_release=True, kept=Kept.OWN,
          tag=NO_TAG,
          json_ld="name", required_as="version", on_sheet=HEADING),
    Field(id="album_artist", title="Release artist", meaning="name the release is shown under",
          words=(
              "album artist|release artist|albumartist|albumkunstler|artiste de l album|artista del album|"
              "artista do album|artista album|アルバムアーティスト|artista del disco|artista principal del album|"
              "artista do disco|artista dell album|artiste album|artiste du projet|kunstler des albums|"
              "albumartiest|исполнитель альбома|אמן האלבום|專輯藝人|专辑艺人|앨범 아티스트|release artists|"
              "product artist"
          ),
          key="artist", of_release=True, kept=Kept.OWN,
          tag=Tag("album_artist", "Album artist",
                  id3="TPE2", vorbis="ALBUMARTIST", mp4="aART", info=NOT_STORED,
                  bext=NOT_STORED, axml=NOT_STORED),
          json_ld="byArtist", required_as="artist", on_sheet=HEADING),
    Field(id="label", title="Label", meaning="label",
          words=(
              "label|record label|labelname|label name|sello|selo|etichetta|レーベル|sello discografico|"
              "discografica|compania discografica|gravadora|selo fonografico|casa discografica|"
              "etichetta discografica|maison de disques|plattenfirma|platenlabel|platenmaatschappij|plateselskap|"
              "skivbolag|levy yhtio|levymerkki|wytwornia|vydavatelstvi|lemezkiado|plak sirketi|лейбл|"
              "издающий лейбл|δισκογραφικη|δισκογραφικη εταιρεια|לייבל|חברת תקליטים|שركة الإنتاج|شركة الإنتاج|"
              "レーベル名|発売元|厂牌|廠牌|唱片公司|레이블|음반사|imprint|label imprint"
          ),
          key="label", of_release=True, kept=Kept.OWN,
          tag=Tag("label", "Label",
                  id3="TPUB", vorbis="ORGANIZATION LABEL", mp4="free:LABEL", info=NOT_STORED,
                  bext="Originator", axml=NOT_STORED, also="PUBLISHER"),
          json_ld="recordLabel", required_as="label", on_sheet="Label"),
    Field(id="catalogue_number", title="Catalogue no.", meaning="the label's own number",
          words=(
              "catalogue|catalog|catalogue no|catalog no|catalogue number|catalog number|cat no|cat nr|cat|"
              "katalognummer|katalog nr|bestellnummer|numero de catalogue|reference|numero de catalogo|catalogo|"
              "catalogusnummer|品番|no de catalogo|n de catalogo|num catalogo|numero di catalogo|n catalogo|"
              "n catalogue|no catalogue|ref catalogue|reference catalogue|katalognr|artikelnummer|artikelnr|"
              "catalogusnr|katalognummer nr|numer katalogowy|nr katalogowy|katalogove cislo|katalogusszam|"
              "katalog no|каталожный номер|номер каталога|αριθμος καταλογου|מספר קטלוגי|מק ט|カタログ番号|"
              "規格品番|商品番号|目录编号|目錄編號|카탈로그 번호|product code|product no|selection number|"
              "order no"
          ),
          key="catalogue_number", of_release=True, kept=Kept.OWN,
          tag=Tag("catalogue_number", "Catalogue number",
                  id3="TXXX:CATALOGNUMBER", vorbis="CATALOGNUMBER", mp4="free:CATALOGNUMBER",
                  info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED, also="CATALOGUENUMBER"),
          json_ld="catalogNumber", required_as="catalogue_number", on_sheet="Catalogue number"),
    Field(id="upc", title="UPC / EAN", meaning="12 or 13 digits",
          words=(
              "upc|ean|upc ean|ean upc|barcode|bar code|gtin|upc code|ean code|strichcode|code barre|code barres|"
              "codigo de barras|codice a barre|upc number|jan|codigo upc|codigo ean|codigo de barra|codice ean|"
              "codice upc|code upc|code ean|ean code nr|ean nr|barcode nr|streepjescode|strekkode|streckkod|"
              "viivakoodi|kod kreskowy|carovy kod|vonalkod|barkod|штрихкод|штрих код|код upc|ברקוד|الباركود|"
              "バーコード|janコード|jan コード|条形码|條碼|바코드|upc ean jan|upc a|ean 13"
          ),
          key="upc", of_release=True, kept=Kept.OWN,
          tag=Tag("upc", "Barcode",
                  id3="TXXX:BARCODE", vorbis="BARCODE", mp4="free:BARCODE", info=NOT_STORED,
                  bext=NOT_STORED, axml=NOT_STORED, also="UPC EAN EAN/UPC"),
          json_ld="identifier", required_as="upc", on_sheet="UPC / EAN"),
    Field(id="release_date", title="Release date", meaning="year-month-day",
          words=(
              "release date|date of release|street date|releasedate|veroffentlichung|veroffentlichungsdatum|vo|"
              "vo datum|date de sortie|sortie|fecha de lanzamiento|fecha de publicacion|data de lancamento|"
              "data di uscita|releasedatum|発売日|digital release date|released|release day|erscheinungsdatum|"
              "erscheinungstag|erscheint am|veroffentlicht am|date de parution|parution|fecha de salida|"
              "fecha de estreno|data de publicacao|data uscita|uscita|publication date|date of publication|"
              "utgivningsdatum|data premiery|リリース日|リリース|配信日|дата релиза|дата выхода|תאריך יציאה|"
              "תאריך הוצאה|תאריך פרסום|发行日期|發行日期|fecha de edicion|fecha de lanzamiento digital|"
              "data lancamento|data de lancamento digital|data pubblicazione|data di pubblicazione|"
              "date de mise en vente|release datum|releasetag|verschijningsdatum|releasedato|utgivelsesdato|"
              "slippdato|julkaisupaiva|data wydania|datum vydani|megjelenes|yayin tarihi|cikis tarihi|"
              "ημερομηνια κυκλοφοριας|תאריך הוצאה לאור|تاريخ الإصدار|上市日期|发布日期|發佈日期|출시일|발매일|"
              "release on"
          ),
          key="release_date", of_release=True, kept=Kept.OWN,
          tag=Tag("release_date", "Release date",
                  id3="TDRL TDRC", id3_23="TYER TDAT", vorbis="DATE", mp4="©day", info="ICRD",
                  bext=NOT_STORED, axml=NOT_STORED, also="RELEASEDATE YEAR"),
          json_ld="datePublished", required_as="release_date", on_sheet="Release date"),
    Field(id="original_date", title="Original release date", meaning="of a reissue: the day of the first release",
          words=(
              "original release date|original date|first release|erstveroffentlichung|date de sortie originale|"
              "fecha de lanzamiento original|fecha original|data original de lancamento|data originale|"
              "date originale|originaldatum|erstausgabe|erstausgabedatum|data pierwszego wydania|"
              "дата первого релиза|原発売日|首次发行日期|original release|first release date"
          ),
          key="original_date", of_release=True, kept=Kept.OWN,
          tag=Tag("original_date", "Original date",
                  id3="TDOR", id3_23="TORY TXXX:ORIGINALDATE", vorbis="ORIGINALDATE",
                  mp4="free:ORIGINALDATE", info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED,
                  also="ORIGINALDATE"),
          json_ld="datePublished", required_as="original_date", on_sheet="First released"),
    Field(id="p_line", title="(P) line", meaning="year and owner of the recording",
          words=(
              "line p|linea p line|ligne p line|p line line|p line year owner|copyright p line|p line info|"
              "p line|p|p copyright|phonogram|phonographic copyright|sound recording copyright|pline|p notice|"
              "p year owner|p vermerk|linea p|linha p|linea de p|ligne p|p zeile|p linje|原盤権|℗ year and owner|"
              "p line text|phonogram rights|master owner|master rights|derechos fonograficos|"
              "derechos del fonograma|titolare master|ayant droit master"
          ),
          key="p_line", of_release=True, kept=Kept.OWN,
          tag=Tag("p_line", "℗ line",
                  id3="TPRO", id3_23="TXXX:PRODUCEDNOTICE", vorbis="PRODUCEDNOTICE",
                  mp4="free:PRODUCEDNOTICE", info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED,
                  also="PRODUCEDNOTICE"),
          json_ld="creditText", required_as="p_line", on_sheet="℗"),
    Field(id="c_line", title="(C) line", meaning="year and owner of artwork and texts",
          words=(
              "line c|linea c line|ligne c line|c line line|c line year owner|copyright c line|c line info|"
              "c line|c|copyright|c copyright|cline|c notice|c vermerk|linea c|linha c|ligne c|c zeile|c linje|"
              "авторские права|copyright c|著作権表示|著作権|版权|版權|저작권|copyright line|derechos de autor"
          ),
          key="c_line", of_release=True, kept=Kept.OWN,
          tag=Tag("c_line", "© line",
                  id3="TCOP", vorbis="COPYRIGHT", mp4="cprt", info="ICOP", bext=NOT_STORED,
                  axml=NOT_STORED),
          json_ld="copyrightNotice", required_as="c_line", on_sheet="©"),
    Field(id="genre", title="Genre", meaning="genre",
          words=(
              "genre|main genre|primary genre|hauptgenre|genero|genere|style|ジャンル|genero musical|"
              "genero principal|genere musicale|genere principale|genre musical|style musical|musikrichtung|"
              "stilrichtung|stijl|sjanger|genrer|tyylilaji|gatunek|zanr|mufaj|жанр|стиль|ειδος|סגנון|ז אנר|النوع|"
              "ジャンル名|流派|风格|曲风|類型|장르"
          ),
          key="genre", of_release=True, kept=Kept.OWN,
          tag=Tag("genre", "Genre",
                  id3="TCON", vorbis="GENRE", mp4="©gen", info="IGNR", bext=NOT_STORED,
                  axml=NOT_STORED),
          json_ld="genre", required_as="genre", on_sheet="Genre"),
    Field(id="subgenre", title="Sub-genre", meaning="narrower genre",
          words=(
              "subgenre|sub genre|secondary genre|subgenero|sottogenere|subgenero musical|sous genre|untergenre|"
              "subgenre s|поджанр|サブジャンル|子流派|하위 장르"
          ),
          key="subgenre", of_release=True, kept=Kept.OWN,
          tag=Tag("subgenre", "Sub-genre",
                  id3="TXXX:SUBGENRE", vorbis="SUBGENRE", mp4="free:SUBGENRE", info=NOT_STORED,
                  bext=NOT_STORED, axml=NOT_STORED),
          json_ld="genre", required_as="subgenre", on_sheet="Sub-genre"),
    Field(id="release_language", title="Language of titles", meaning="en, de, ja ... or its English name",
          words="language of titles|release language|album language|sprache der titel|langue des titres",
          key="language", of_release=True, kept=Kept.OWN,
          tag=NO_TAG,
          json_ld="inLanguage", required_as="language", on_sheet=NOT_PRINTED),
    Field(id="territories", title="Territories", meaning="worldwide, or countries",
          words=(
              "territory|territories|territorium|gebiet|territoire|territoires|territorio|territorios|"
              "rights territory|paises|territorios de venta|territori|gebiete|lander|pays de diffusion|"
              "территория|טריטוריה|地域|配信地域|发行地区|지역"
          ),
          key="territories", of_release=True, kept=Kept.OWN,
          tag=Tag("territories", "Territories",
                  id3="TXXX:TERRITORIES", vorbis="TERRITORIES", mp4="free:TERRITORIES",
                  info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED, many=True),
          json_ld=NOT_STORED, required_as="territories", on_sheet="Territories"),
    Field(id="client", title="Client", meaning="who ordered the work",
          words=(
              "client|customer|kunde|auftraggeber|cliente|ordered by|klient|zleceniodawca|заказчик|לקוח|"
              "クライアント|依頼者|客户|고객|opdrachtgever|commanditaire"
          ),
          key="client", of_release=True, kept=Kept.OWN,
          tag=NO_TAG,
          json_ld=NOT_STORED, required_as="client", on_sheet="Client"),
)
# fmt: on
