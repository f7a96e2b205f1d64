"""What a track is called, its place and its codes. Rows of the table of label-copy fields, see `row.py`."""

from __future__ import annotations

from delivery.model.fields.row import (
    NO_TAG,
    NOT_IN_FILE,
    NOT_PRINTED,
    NOT_REQUIRED,
    NOT_STORED,
    Field,
    Kept,
    People,
    Tag,
)

# fmt: off
ROWS: tuple[Field, ...] = (
    Field(id="disc", title="Disc", meaning="disc number",
          words=(
              "disc|disk|cd|disc no|disc number|volume no|cd nr|disque|disco|schijf|skiva|lp no|lp nr|lp number|"
              "platte|disco no|numero de disco|numero do disco|levy|levy nro|plyta|nr plyty|ディスク|"
              "ディスク番号|盤|碟|碟號|碟号|光盘|диск|номер диска|תקליטור|דיסק|قرص|디스크|disk no|cd no"
          ),
          key="disc", kept=Kept.OWN,
          tag=Tag("disc_number", "Disc",
                  id3="TPOS", vorbis="DISCNUMBER", mp4="disk", info=NOT_STORED, bext=NOT_STORED,
                  axml=NOT_STORED),
          json_ld=NOT_STORED, required_as=NOT_REQUIRED, on_sheet="No."),
    Field(id="number", title="Track no.", meaning="number on its disc",
          words=(
              "running order|order|sequence #|track #|# track|no #|track|no|nr|number|num|track no|track nr|"
              "track number|track num|position|pos|seq|sequence|trk|titelnr|track position|titelnummer|spur|"
              "plage|n|no piste|numero|numero de piste|piste|pista|faixa|numero de pista|traccia|spår|spor|#|"
              "曲順|トラック|トラック番号|lp|numer|n o|n o pista|n o de pista|n de pista|no de pista|"
              "num de pista|orden|ordem|n faixa|no faixa|no da faixa|numero da faixa|ordine|n traccia|"
              "numero traccia|no traccia|volgnummer|nummer|tracknr|spornummer|sparnr|låtnr|raita|raidan numero|"
              "nro|nr utworu|numer utworu|lp utwor|cislo skladby|cislo|por cislo|sorszam|sira|sira no|parca no|"
              "no d ordre|ordre|n piste|numero piste|numero plage|номер|номер трека|трек|№ трека|"
              "номер по порядку|п п|номер треку|αριθμος|αρ|αριθμος κομματιου|α α|מספר|מס|מספר רצועה|מס רצועה|"
              "רצועה|מספר שיר|رقم|رقم المسار|المسار|トラックno|曲番|番号|no 曲順|曲順番|序号|序號|曲目编号|"
              "曲目編號|音轨号|音轨|번호|트랙|트랙 번호|곡 순서|순번"
          ),
          key="number", about=("disc",), kept=Kept.OWN,
          tag=Tag("track_number", "Track",
                  id3="TRCK", vorbis="TRACKNUMBER", mp4="trkn", info="ITRK", bext=NOT_STORED,
                  axml=NOT_STORED),
          json_ld="position", required_as=NOT_REQUIRED, on_sheet="No."),
    Field(id="side", title="Side", meaning="side of a record or cassette: A, B ...",
          words=(
              "side|sides|vinyl side|lp side|record side|tape side|cassette side|side letter|seite|lp seite|"
              "plattenseite|face|lado|cara|lato|kant|sida|strona|puoli|сторона|πλευρα|צד|面|サイド"
          ),
          key="side", kept=Kept.OWN,
          tag=NO_TAG,
          json_ld=NOT_STORED, required_as=NOT_REQUIRED, on_sheet=NOT_PRINTED),
    Field(id="title", title="Title", meaning="title, without its version",
          words=(
              "title|track title|song|song title|track name|song name|titel|songtitel|tracktitel|liedtitel|titre|"
              "titre du morceau|titre de la piste|titulo|titulo de la cancion|titulo da faixa|cancion|titolo|"
              "titolo del brano|brano|nummer titel|lattitel|tittel|kappale|tytul|曲名|タイトル|楽曲名|"
              "titulo del tema|nombre de la cancion|nombre de la pista|nombre del tema|tema|nombre|"
              "titulo de la pista|titulo del track|titulo da musica|nome da faixa|nome da musica|titulo traccia|"
              "titolo traccia|titolo della traccia|titolo canzone|nome brano|canzone|titolo brano|titre du titre|"
              "titre de la chanson|nom du morceau|nom du titre|chanson|morceau|nom de la piste|intitule|"
              "titel des stucks|werktitel|stuck|name des titels|songname|nummertitel|titel nummer|liedje|låt|"
              "sang|sangtitel|sporets navn|kappaleen nimi|nimi|tytul utworu|nazwa utworu|utwor|nazev|"
              "nazev skladby|skladba|cim|dal cime|dalcim|zeneszam|parca|parca adi|sarki|sarki adi|eser adi|"
              "название|название трека|название песни|название композиции|наименование|композиция|песня|назва|"
              "назва треку|τιτλος|τιτλος κομματιου|τιτλος τραγουδιου|τραγουδι|שם|שם השיר|שם שיר|שם הרצועה|כותרת|"
              "שם היצירה|שם הטראק|العنوان|عنوان|اسم الأغنية|عنوان الأغنية|الأغنية|楽曲|楽曲タイトル|曲タイトル|"
              "トラック名|作品名|题目|歌名|歌曲名|歌曲名称|曲名 标题|标题|標題|歌曲|歌曲名稱|曲目|作品名称|제목|"
              "곡명|곡 제목|노래 제목|트랙명|트랙 제목|track titles|song titles|song name s|work title|"
              "title of track|title of song|titles"
          ),
          key="title", kept=Kept.OWN,
          tag=Tag("title", "Title",
                  id3="TIT2", vorbis="TITLE", mp4="©nam", info="INAM", bext="Description",
                  axml=NOT_STORED),
          json_ld="name", required_as="title", on_sheet="Title"),
    Field(id="version", title="Version", meaning="only if not the standard one: Radio Edit, Instrumental",
          words=(
              "version mix|mix version|version|mix|remix name|track version|version title|mix name|subtitle|"
              "versionstitel|untertitel|fassung|version du titre|versione|versao|versie|バージョン|"
              "version de la pista|version del tema|mezcla|wersja|verze|verzio|versiyon|версия|версія|εκδοση|"
              "גרסה|גירסה|النسخة|版本|버전|mix versie|versione brano|versjon|versio|remix"
          ),
          key="version", kept=Kept.OWN,
          tag=Tag("version", "Version of the title",
                  id3="TIT3", vorbis="VERSION", mp4="free:VERSION", info=NOT_STORED,
                  bext=NOT_STORED, axml=NOT_STORED, also="SUBTITLE"),
          json_ld="name", required_as="version", on_sheet="Title"),
    Field(id="artist", title="Artist", meaning="who plays; several with ';'",
          words=(
              "artist|artists|track artist|main artist|primary artist|performer|performers|kunstler|interpret|"
              "hauptinterpret|interpreten|artiste|interprete|artiste principal|artista|artistas|"
              "artista principal|artiest|artist namn|utforare|wykonawca|アーティスト|アーティスト名|"
              "display artist|interpretes|interprete principal|artista s|artistas principales|nombre del artista|"
              "artista interprete|interpretes principales|nome do artista|artistas principais|artisti|"
              "nome artista|esecutore|interpreti|nom de l artiste|artistes|artiste s|interpretes principaux|"
              "ausfuhrende|ausfuhrender|kunstlername|kunstler in|uitvoerende|uitvoerende artiest|hoofdartiest|"
              "artister|utovare|kunstner|artist navn|esittaja|artisti nimi|wykonawcy|artysta|interpret skladby|"
              "eloado|sanatci|sanatci adi|yorumcu|исполнитель|исполнители|артист|основной исполнитель|виконавець|"
              "καλλιτεχνης|ερμηνευτης|אמן|אמנים|שם האמן|מבצע|מבצעים|אומן|الفنان|اسم الفنان|المطرب|المغني|演奏者|"
              "歌手|実演家|歌唱|歌唱者|出演者|艺人|藝人|艺术家|藝術家|表演者|演唱|演唱者|주 아티스트|아티스트|"
              "아티스트명|가수|실연자|artist name|name of artist|artist s"
          ),
          key="artists", kept=Kept.ARTIST, role="main", people=People.ACT,
          tag=Tag("artist", "Track artist",
                  id3="TPE1", vorbis="ARTIST", mp4="©ART", info="IART", bext=NOT_STORED,
                  axml=NOT_STORED),
          json_ld="byArtist", required_as="artists", on_sheet="Artist"),
    Field(id="featured", title="Featured artists", meaning="guests; several with ';'",
          words=(
              "featuring artist|featuring artists|featured|featuring|feat|ft|featured artist|featured artists|"
              "guest|guests|gast|gaste|invite|invites|artista invitado|artista convidado|ospite|"
              "con la participacion de|artistas invitados|invitado|colaboracion|colaborador|participacao|"
              "participacao especial|feat artist|artisti ospiti|ospiti|artistes invites|gastmusiker|gastkunstler|"
              "gastartiest|gasten|gostevoj|гость|приглашенный артист|приглашенные артисты|при участии|фит|"
              "אמן אורח|אורחים|בהשתתפות|ضيف|ゲスト|フィーチャリング|ゲストアーティスト|客座艺人|合作艺人|피처링|"
              "참여 아티스트|gastartist|gosc|vendeg"
          ),
          key="artists", kept=Kept.ARTIST, role="featured", people=People.ACT,
          tag=NO_TAG,
          json_ld="contributor", required_as=NOT_REQUIRED, on_sheet="Artist"),
    Field(id="remixer", title="Remixers", meaning="several with ';'",
          words="remixer|remixers|remixed by|remix by|remixeur",
          key="artists", kept=Kept.ARTIST, role="remixer", people=People.ACT,
          tag=Tag("remixers", "Remixers",
                  id3="TPE4", vorbis="REMIXER", mp4="free:REMIXER", info=NOT_STORED,
                  bext=NOT_STORED, axml=NOT_STORED, many=True),
          json_ld="contributor", required_as=NOT_REQUIRED, on_sheet=NOT_PRINTED),
    Field(id="isni", title="ISNI",
          meaning="of the artists, in their order; of anybody else as 'name: code', separated by ';'",
          words=(
              "isni|isni code|isni nr|isni no|isni number|artist isni|isni artist|isnis|composer isni|"
              "writer isni|performer isni|code isni"
          ),
          key="isni", kept=Kept.OWN,
          tag=Tag("isni", "Names and their ISNI",
                  id3="TXXX:ISNI", vorbis="ISNI", mp4="free:ISNI", info=NOT_STORED,
                  bext=NOT_STORED, axml=NOT_STORED, many=True),
          json_ld="identifier", required_as=NOT_REQUIRED, on_sheet="ISNI"),
    Field(id="duration", title="Duration", meaning="minutes:seconds",
          words=(
              "duration|length|time|playing time|play time|running time|track length|dauer|spieldauer|lange|"
              "laufzeit|spielzeit|duree|minutage|duracion|tiempo|duracao|durata|duur|speelduur|speltid|langd|"
              "varighet|czas|収録時間|再生時間|timing|total time|tiempo de duracion|minutaje|tempo de duracao|"
              "tempo total|durata brano|minutaggio|duree mm ss|temps|duree du titre|duree totale|lange mm ss|"
              "zeit|dauer min|tijdsduur|lengte|lengde|tid|langde|kesto|pituus|czas trwania|dlugosc|delka|trvani|"
              "stopaz|hossz|idotartam|sure|suresi|длительность|хронометраж|время|продолжительность|тривалість|"
              "διαρκεια|χρονος|משך|אורך|זמן|משך השיר|אורך השיר|המשך|المدة|مدة|長さ|時間|演奏時間|再生時間 分 秒|"
              "尺|时长|時長|长度|長度|播放时长|길이|재생 시간|재생시간|시간"
          ),
          key=NOT_IN_FILE, kept=Kept.OWN,
          tag=NO_TAG,
          json_ld="duration", required_as=NOT_REQUIRED, on_sheet="Length"),
    Field(id="isrc", title="ISRC", meaning="12 letters and digits",
          words=(
              "isrc|isrc code|isrc nr|isrc no|isrc number|code isrc|codigo isrc|codice isrc|isrcコード|"
              "isrc codigo|codigo isrc pista|kod isrc|код isrc|קוד isrc|رمز isrc|isrc 코드|isrc编码|isrc 码|"
              "isrc編碼|isrc番号|isrc kodu|isrc kod"
          ),
          key="isrc", kept=Kept.OWN,
          tag=Tag("isrc", "ISRC",
                  id3="TSRC", vorbis="ISRC", mp4="free:ISRC", info=NOT_STORED,
                  bext="OriginatorReference", axml="dc:identifier"),
          json_ld="isrcCode", required_as="isrc", on_sheet="ISRC"),
    Field(id="iswc", title="ISWC", meaning="code of the work",
          words="iswc|iswc code|code iswc|codigo iswc|codice iswc|код iswc|קוד iswc|iswcコード",
          key="iswc", kept=Kept.OWN,
          tag=Tag("iswc", "ISWC",
                  id3="TXXX:ISWC", vorbis="ISWC", mp4="free:ISWC", info=NOT_STORED,
                  bext=NOT_STORED, axml=NOT_STORED),
          json_ld="iswcCode", required_as="iswc", on_sheet="ISWC"),
    Field(id="explicit", title="Explicit", meaning="explicit, clean or no",
          words=(
              "explicit|explicit content|explicit lyrics|parental advisory|advisory|pa|explizit|explicite|"
              "paroles explicites|explicito|esplicito|expliciet|clean explicit|explicit clean|"
              "contenido explicito|letra explicita|explicito si no|conteudo explicito|letras explicitas|"
              "contenuto esplicito|testo esplicito|contenu explicite|jugendfrei|expliziter inhalt|"
              "expliciete inhoud|wulgaryzmy|нецензурная лексика|ненормативная лексика|תוכן בוטה|בוטה|明示的|"
              "露骨な表現|成人向け|脏话|明确内容|露骨內容|19금|explicit y n|explicit yes no"
          ),
          key="explicit", kept=Kept.OWN,
          tag=Tag("explicit", "Advisory",
                  id3="TXXX:ITUNESADVISORY", vorbis="ITUNESADVISORY", mp4="rtng",
                  info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED),
          json_ld="isFamilyFriendly", required_as="explicit", on_sheet="Content"),
    Field(id="instrumental", title="Instrumental", meaning="yes or no",
          words=(
              "instrumental|instr|no vocals|strumentale|instrumentaal|instrumentale|instrumentalny|инструментал|"
              "инструментальная|אינסטרומנטלי|インスト|インストゥルメンタル|纯音乐|純音樂|연주곡|instrumental y n"
          ),
          key="instrumental", kept=Kept.OWN,
          tag=NO_TAG,
          json_ld="inLanguage", required_as="instrumental", on_sheet="Language"),
    Field(id="language", title="Language of lyrics", meaning="en, de, ja ... or its English name",
          words=(
              "language|lyrics language|language of lyrics|lyric language|audio language|sprache|textsprache|"
              "langue|langue des paroles|idioma|idioma de la letra|idioma da letra|lingua|taal|sprak|言語|"
              "idioma del audio|lengua|idioma de audio|lingua del testo|lingua testo|langue du texte|"
              "langue de la chanson|liedsprache|taal van de tekst|kieli|jezyk|jazyk|nyelv|язык|язык исполнения|"
              "язык текста|мова|γλωσσα|שפה|שפת השיר|اللغة|歌詞言語|言語 歌詞|语言|語言|歌词语言|언어|가사 언어"
          ),
          key="language", about=("instrumental",), kept=Kept.OWN,
          tag=Tag("language", "Language (ISO 639-2)",
                  id3="TLAN", vorbis="LANGUAGE", mp4="free:LANGUAGE", info=NOT_STORED,
                  bext=NOT_STORED, axml=NOT_STORED),
          json_ld="inLanguage", required_as="language", on_sheet="Language"),
    Field(id="title_language", title="Language of title", meaning="if it differs from the release's",
          words=(
              "title language|language of title|metadata language|titelsprache|langue du titre|idioma del titulo"
          ),
          key="title_language", kept=Kept.OWN,
          tag=Tag("title_language", "Language of the title (ISO 639-2)",
                  id3="TXXX:TITLELANGUAGE", vorbis="TITLELANGUAGE", mp4="free:TITLELANGUAGE",
                  info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED),
          json_ld=NOT_STORED, required_as="title_language", on_sheet="Language of title"),
)
# fmt: on
