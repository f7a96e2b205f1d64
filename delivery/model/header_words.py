"""The words by which sheets head the fields of label copy, in many languages.

A new word is a new word here. Words are compared without case, accents and punctuation; figures in a header
('Composer 2') count the person. Common practice, no source: collected from the field names of trade templates and
translated.
"""

from __future__ import annotations

from collections.abc import Mapping

# fmt: off
# fmt: off
# fmt: off
# fmt: off
WORDS: Mapping[str, str] = {
    "disc":
        "disc|disk|cd|disc no|disc number|volume no|cd nr|disque|disco|schijf|skiva|lp no|lp nr|lp number|"
        "platte|disco no|numero de disco|numero do disco|levy|levy nro|plyta|nr plyty|ディスク|ディスク番号|"
        "盤|碟|碟號|碟号|光盘|диск|номер диска|תקליטור|דיסק|قرص|디스크|disk no|cd no",
    "number":
        "running order|order|sequence #|track #|# track|no #|track|no|nr|number|num|track no|track nr|"
        "track number|track num|position|pos|seq|sequence|trk|titelnr|track position|titelnummer|spur|plage|"
        "n|no piste|numero|numero de piste|piste|pista|faixa|numero de pista|traccia|spår|spor|#|曲順|"
        "トラック|トラック番号|lp|numer|n o|n o pista|n o de pista|n de pista|no de pista|num de pista|orden|"
        "ordem|n faixa|no faixa|no da faixa|numero da faixa|ordine|n traccia|numero traccia|no traccia|"
        "volgnummer|nummer|tracknr|spornummer|sparnr|låtnr|raita|raidan numero|nro|nr utworu|numer utworu|"
        "lp utwor|cislo skladby|cislo|por cislo|sorszam|sira|sira no|parca no|no d ordre|ordre|n piste|"
        "numero piste|numero plage|номер|номер трека|трек|№ трека|номер по порядку|п п|номер треку|αριθμος|"
        "αρ|αριθμος κομματιου|α α|מספר|מס|מספר רצועה|מס רצועה|רצועה|מספר שיר|رقم|رقم المسار|المسار|"
        "トラックno|曲番|番号|no 曲順|曲順番|序号|序號|曲目编号|曲目編號|音轨号|音轨|번호|트랙|트랙 번호|"
        "곡 순서|순번",
    "side":
        "side|sides|vinyl side|lp side|record side|tape side|cassette side|side letter|seite|lp seite|"
        "plattenseite|face|lado|cara|lato|kant|sida|strona|puoli|сторона|πλευρα|צד|面|サイド",
    "title":
        "title|track title|song|song title|track name|song name|titel|songtitel|tracktitel|liedtitel|titre|"
        "titre du morceau|titre de la piste|titulo|titulo de la cancion|titulo da faixa|cancion|titolo|"
        "titolo del brano|brano|nummer titel|lattitel|tittel|kappale|tytul|曲名|タイトル|楽曲名|"
        "titulo del tema|nombre de la cancion|nombre de la pista|nombre del tema|tema|nombre|"
        "titulo de la pista|titulo del track|titulo da musica|nome da faixa|nome da musica|titulo traccia|"
        "titolo traccia|titolo della traccia|titolo canzone|nome brano|canzone|titolo brano|titre du titre|"
        "titre de la chanson|nom du morceau|nom du titre|chanson|morceau|nom de la piste|intitule|"
        "titel des stucks|werktitel|stuck|name des titels|songname|nummertitel|titel nummer|liedje|låt|sang|"
        "sangtitel|sporets navn|kappaleen nimi|nimi|tytul utworu|nazwa utworu|utwor|nazev|nazev skladby|"
        "skladba|cim|dal cime|dalcim|zeneszam|parca|parca adi|sarki|sarki adi|eser adi|название|"
        "название трека|название песни|название композиции|наименование|композиция|песня|назва|назва треку|"
        "τιτλος|τιτλος κομματιου|τιτλος τραγουδιου|τραγουδι|שם|שם השיר|שם שיר|שם הרצועה|כותרת|שם היצירה|"
        "שם הטראק|العنوان|عنوان|اسم الأغنية|عنوان الأغنية|الأغنية|楽曲|楽曲タイトル|曲タイトル|トラック名|"
        "作品名|题目|歌名|歌曲名|歌曲名称|曲名 标题|标题|標題|歌曲|歌曲名稱|曲目|作品名称|제목|곡명|곡 제목|"
        "노래 제목|트랙명|트랙 제목|track titles|song titles|song name s|work title|title of track|"
        "title of song|titles",
    "version":
        "version mix|mix version|version|mix|remix name|track version|version title|mix name|subtitle|"
        "versionstitel|untertitel|fassung|version du titre|versione|versao|versie|バージョン|"
        "version de la pista|version del tema|mezcla|wersja|verze|verzio|versiyon|версия|версія|εκδοση|גרסה|"
        "גירסה|النسخة|版本|버전|mix versie|versione brano|versjon|versio|remix",
    "artist":
        "artist|artists|track artist|main artist|primary artist|performer|performers|kunstler|interpret|"
        "hauptinterpret|interpreten|artiste|interprete|artiste principal|artista|artistas|artista principal|"
        "artiest|artist namn|utforare|wykonawca|アーティスト|アーティスト名|display artist|interpretes|"
        "interprete principal|artista s|artistas principales|nombre del artista|artista interprete|"
        "interpretes principales|nome do artista|artistas principais|artisti|nome artista|esecutore|"
        "interpreti|nom de l artiste|artistes|artiste s|interpretes principaux|ausfuhrende|ausfuhrender|"
        "kunstlername|kunstler in|uitvoerende|uitvoerende artiest|hoofdartiest|artister|utovare|kunstner|"
        "artist navn|esittaja|artisti nimi|wykonawcy|artysta|interpret skladby|eloado|sanatci|sanatci adi|"
        "yorumcu|исполнитель|исполнители|артист|основной исполнитель|виконавець|καλλιτεχνης|ερμηνευτης|אמן|"
        "אמנים|שם האמן|מבצע|מבצעים|אומן|الفنان|اسم الفنان|المطرب|المغني|演奏者|歌手|実演家|歌唱|歌唱者|"
        "出演者|艺人|藝人|艺术家|藝術家|表演者|演唱|演唱者|주 아티스트|아티스트|아티스트명|가수|실연자|"
        "artist name|name of artist|artist s",
    "featured":
        "featuring artist|featuring artists|featured|featuring|feat|ft|featured artist|featured artists|"
        "guest|guests|gast|gaste|invite|invites|artista invitado|artista convidado|ospite|"
        "con la participacion de|artistas invitados|invitado|colaboracion|colaborador|participacao|"
        "participacao especial|feat artist|artisti ospiti|ospiti|artistes invites|gastmusiker|gastkunstler|"
        "gastartiest|gasten|gostevoj|гость|приглашенный артист|приглашенные артисты|при участии|фит|אמן אורח|"
        "אורחים|בהשתתפות|ضيف|ゲスト|フィーチャリング|ゲストアーティスト|客座艺人|合作艺人|피처링|"
        "참여 아티스트|gastartist|gosc|vendeg",
    "remixer": "remixer|remixers|remixed by|remix by|remixeur",
    "isni":
        "isni|isni code|isni nr|isni no|isni number|artist isni|isni artist|isnis|composer isni|writer isni|"
        "performer isni|code isni",
    "duration":
        "duration|length|time|playing time|play time|running time|track length|dauer|spieldauer|lange|"
        "laufzeit|spielzeit|duree|minutage|duracion|tiempo|duracao|durata|duur|speelduur|speltid|langd|"
        "varighet|czas|収録時間|再生時間|timing|total time|tiempo de duracion|minutaje|tempo de duracao|"
        "tempo total|durata brano|minutaggio|duree mm ss|temps|duree du titre|duree totale|lange mm ss|zeit|"
        "dauer min|tijdsduur|lengte|lengde|tid|langde|kesto|pituus|czas trwania|dlugosc|delka|trvani|stopaz|"
        "hossz|idotartam|sure|suresi|длительность|хронометраж|время|продолжительность|тривалість|διαρκεια|"
        "χρονος|משך|אורך|זמן|משך השיר|אורך השיר|המשך|المدة|مدة|長さ|時間|演奏時間|再生時間 分 秒|尺|时长|"
        "時長|长度|長度|播放时长|길이|재생 시간|재생시간|시간",
    "isrc":
        "isrc|isrc code|isrc nr|isrc no|isrc number|code isrc|codigo isrc|codice isrc|isrcコード|isrc codigo|"
        "codigo isrc pista|kod isrc|код isrc|קוד isrc|رمز isrc|isrc 코드|isrc编码|isrc 码|isrc編碼|isrc番号|"
        "isrc kodu|isrc kod",
    "iswc": "iswc|iswc code|code iswc|codigo iswc|codice iswc|код iswc|קוד iswc|iswcコード",
    "explicit":
        "explicit|explicit content|explicit lyrics|parental advisory|advisory|pa|explizit|explicite|"
        "paroles explicites|explicito|esplicito|expliciet|clean explicit|explicit clean|contenido explicito|"
        "letra explicita|explicito si no|conteudo explicito|letras explicitas|contenuto esplicito|"
        "testo esplicito|contenu explicite|jugendfrei|expliziter inhalt|expliciete inhoud|wulgaryzmy|"
        "нецензурная лексика|ненормативная лексика|תוכן בוטה|בוטה|明示的|露骨な表現|成人向け|脏话|明确内容|"
        "露骨內容|19금|explicit y n|explicit yes no",
    "instrumental":
        "instrumental|instr|no vocals|strumentale|instrumentaal|instrumentale|instrumentalny|инструментал|"
        "инструментальная|אינסטרומנטלי|インスト|インストゥルメンタル|纯音乐|純音樂|연주곡|instrumental y n",
    "language":
        "language|lyrics language|language of lyrics|lyric language|audio language|sprache|textsprache|"
        "langue|langue des paroles|idioma|idioma de la letra|idioma da letra|lingua|taal|sprak|言語|"
        "idioma del audio|lengua|idioma de audio|lingua del testo|lingua testo|langue du texte|"
        "langue de la chanson|liedsprache|taal van de tekst|kieli|jezyk|jazyk|nyelv|язык|язык исполнения|"
        "язык текста|мова|γλωσσα|שפה|שפת השיר|اللغة|歌詞言語|言語 歌詞|语言|語言|歌词语言|언어|가사 언어",
    "title_language":
        "title language|language of title|metadata language|titelsprache|langue du titre|idioma del titulo",
    "composer":
        "composer|composers|composed by|music|music by|komponist|komponisten|musik|compositeur|compositeurs|"
        "musique|compositor|compositores|musica|compositore|compositori|componist|kompositor|kompozytor|作曲|"
        "作曲者|compositor es|compositor a|autor de la musica|autor musica|compositora|musica de|musica por|"
        "compositor musica|autor da musica|compositori musica|musiche|musiche di|autore musica|compositeur s|"
        "auteur de la musique|musique de|komponiert von|musik von|tonsetzer|komponist in|muziek|muziek van|"
        "componisten|kompositorer|musikk|komponister|saveltaja|savel|muzyka|kompozytorzy|hudba|skladatel|"
        "zeneszerzo|zene|besteci|beste|muzik|композитор|композиторы|музыка|автор музыки|автор музики|"
        "συνθετης|μουσικη|מלחין|מלחינים|לחן|מוסיקה|מוזיקה|الملحن|ملحن|ألحان|作曲家|作曲者名|作曲名|曲 作曲|"
        "作曲人|谱曲|譜曲|作曲者 作曲|작곡|작곡가|작곡자",
    "lyricist":
        "lyricist|lyricists|lyrics|lyrics by|words|words by|author of lyrics|textdichter|text|texter|"
        "textautor|texte|parolier|paroles|auteur|letrista|letra|autor de la letra|testo|paroliere|autore|"
        "tekstschrijver|tekst|textforfattare|作詞|作詞者|author|authors|letra de|autor letra|letrista s|"
        "autora de la letra|letra por|autor da letra|testi|testi di|autore testo|autore del testo|paroles de|"
        "auteur des paroles|auteur s|text von|worte|songtext|songtexte|texte von|tekst van|tekst av|"
        "tekstforfatter|textforfattare s|sanoittaja|sanoitus|slowa|tekst utworu|autor tekstu|autor slow|"
        "autor textu|szovegiro|szoveg|dalszoveg|soz yazari|sozler|guftekar|автор слов|слова|автор текста|"
        "поэт|слова автор|автор слів|στιχουργος|στιχοι|מילים|תמלילן|כותב מילים|כותב המילים|פזמונאי|תמליל|"
        "كلمات|كاتب الكلمات|الشاعر|الكلمات|作詞家|作詞者名|詞|作词|作词人|填词|填詞|作詞人|词作者|작사|"
        "작사가|작사자",
    "writer":
        "writer|writers|songwriter|songwriters|written by|composer lyricist|composer author|music and lyrics|"
        "words and music|urheber|musik und text|auteur compositeur|auteurs compositeurs|autor|autores|"
        "composers lyricists|composers authors|songwriter s|autori|auteurs|autor compositor|"
        "autores y compositores|autor y compositor|autores compositores|letra y musica|musica y letra|"
        "letra e musica|compositores e letristas|musica e testo|testo e musica|autori e compositori|"
        "parole e musica|auteur compositeur s|auteurs et compositeurs|paroles et musique|text und musik|"
        "komponist texter|komponisten und texter|autoren|urheber in|text musik|musik text|words music|"
        "music lyrics|lyrics music|muziek en tekst|tekst en muziek|musik och text|text och musik|"
        "tekst og musikk|muzyka i slowa|slowa i muzyka|autorzy|autor slow i muzyki|soz muzik|авторы|автор|"
        "автор музыки и слов|музыка и слова|слова и музыка|מילים ולחן|יוצרים|מחברים|كلمات وألحان|作詞作曲|"
        "作詞 作曲|作曲 作詞|著作者|词曲|詞曲|词曲作者|創作人|작사 작곡|작사작곡|writers composers|"
        "composers lyricists writers|written composed by|written and composed by|songwriting credits|"
        "authors composers",
    "share":
        "% split|% share|% anteil|publishing split %|writer split %|share in %|anteil in %|share|shares|"
        "share %|split|splits|percent|percentage|share percent|anteil|anteile|part|parts|repartition|"
        "porcentaje|porcentagem|percentuale|quota|aandeel|%|porcentaje de autoria|participacion|cuota|"
        "percentuali|quote|quota autore|pourcentage|part s|cle de repartition|prozent|anteil in|verdeling|"
        "fordeling|osuus|udzial|procent|podil|pay|hisse|доля|процент|ποσοστο|אחוז|אחוזים|חלק|نسبة|持分|配分|"
        "比率|占比|比例|지분|비율|split %|ownership|ownership %|writer share|writers share|publishing split|"
        "publishing share",
    "ipi": "ipi|cae|ipi cae|cae ipi|ipi number|ipi no|ipi nr|ipi name number|ipi name no",
    "society":
        "society|pro|collecting society|verwertungsgesellschaft|societe|sociedad|sociedade|societa|cmo|"
        "sociedad de gestion|entidad de gestion|sociedade de autores|societa di collecting|collecting|"
        "societe d auteurs|urheberrechtsgesellschaft|auteursrechtenorganisatie|организация|著作権管理団体|"
        "管理団体|协会|저작권 단체|performing rights organisation|performing rights organization|"
        "pro affiliation|affiliation",
    "publisher":
        "publisher|publishers|publishing|music publisher|verlag|verlage|musikverlag|editeur|editeurs|"
        "editorial|editora|editore|edizioni|uitgever|forlag|出版社|edition|editoriales|editorial musical|"
        "editoras|editora musical|editori|edizioni musicali|editore musicale|editeur s|editions|"
        "editions musicales|musikverlage|verlag e|muziekuitgever|uitgeverij|musikforlag|forlag s|forlagg|"
        "kustantaja|wydawca muzyczny|nakladatel|kiado|yayinci|edisyon|издатель|издательство|паблишер|εκδοτης|"
        "מו ל|הוצאה לאור|الناشر|音楽出版社|音楽出版者|出版者|出版社名|版权公司|出版公司|音乐出版|출판사|"
        "음악 출판사|퍼블리셔|publishing company|original publisher",
    "producer":
        "producer|producers|produced by|produzent|produzenten|producteur|realisateur|productor|produtor|"
        "produttore|producent|プロデューサー|produccion|producido por|productor a|productores|"
        "productor musical|producao|produzido por|produtor musical|produtores|prodotto da|produzione|"
        "produttori|produttore artistico|realisation|realise par|realisateur artistique|produit par|"
        "producteurs|produziert von|produktion|producenten|geproduceerd door|produsent|producent s|tuottaja|"
        "producenci|produkce|produkcia|yapimci|produktor|продюсер|продюсеры|саунд продюсер|παραγωγος|מפיק|"
        "מפיקים|הפקה|הפקה מוזיקלית|מפיק מוזיקלי|المنتج|サウンドプロデューサー|プロデュース|制作人|製作人|"
        "프로듀서|record producer|music producer",
    "mixer":
        "mixer|mixers|mixed by|mix engineer|mixing engineer|mischung|mixe par|mezclado por|mixage|missaggio|"
        "mezcla por|ingeniero de mezcla|mixagem|engenheiro de mixagem|tecnico di missaggio|mix di|mixe|"
        "ingenieur mixage|mischer|mix von|gemischt von|gemixt door|mixat av|miks|miksaus|сведение|"
        "звукорежиссер сведения|מיקס|טכנאי מיקס|ミックス|ミキシング|ミキサー|ミックスエンジニア|混音|混音师|"
        "混音師|믹싱|믹스",
    "mastering_engineer":
        "mastering|mastered by|mastering engineer|mastering engineers|masterise par|masterizado por|"
        "masterizacion|masterizado|ingeniero de mastering|masterizacao|masterizado em|mastering di|"
        "masterizzazione|tecnico di mastering|mastering par|ingenieur mastering|gemastert von|mastering von|"
        "mastering door|masterointi|мастеринг|инженер мастеринга|מאסטרינג|マスタリング|"
        "マスタリングエンジニア|母带|母带工程师|母帶|마스터링",
    "recording_studio":
        "studio|recording studio|recorded at|recording location|aufnahmestudio|aufnahmeort|"
        "studio d enregistrement|estudio|estudio de grabacion|studio di registrazione|opnamestudio|"
        "grabado en|lugar de grabacion|gravado em|estudio de gravacao|registrato presso|"
        "lieu d enregistrement|enregistre a|aufgenommen in|opgenomen in|студия|студия записи|אולפן|スタジオ|"
        "録音スタジオ|レコーディングスタジオ|录音室|錄音室|스튜디오|녹음실",
    "recording_country":
        "recording country|country of recording|country|land|aufnahmeland|pays|pays d enregistrement|pais|"
        "paese|pais de grabacion|pais de gravacao|paese di registrazione|land der aufnahme|land van opname|"
        "страна|страна записи|מדינה|מדינת הקלטה|録音国|录制国家|국가",
    "recording_year":
        "recording year|year of recording|year recorded|aufnahmejahr|annee d enregistrement|ano de grabacion|"
        "ano de gravacao|anno di registrazione|opnamejaar|год записи|שנת הקלטה|録音年|录制年份|ano grabacion",
    "bpm": "bpm|tempo|темп|テンポ|tempo bpm",
    "key":
        "key|musical key|tonart|tonalite|tonalidad|tonalita|tom|tonalidade|toonsoort|toonaard|тональность|"
        "סולם|キー|調|调|調性",
    "preview_start":
        "preview|preview start|preview start time|clip start|sample start|snippet start|vorhorstart|extrait",
    "samples": "samples|sample|samples used|contains samples|sample clearance|sample clearances",
    "other_credits":
        "other credits|credits|musicians|players|personnel|line up|besetzung|mitwirkende|credits artistiques",
    "original_artist": "original artist|originally performed by|cover of|originalinterpret",
    "gap_before": "gap|gap before|pause|pause before|pregap|pausen",
    "only_for": "only for",
    "not_for": "not for",
    "file":
        "file|filename|file name|audio file|wav|dateiname|datei|fichier|archivo|arquivo|nome file|bestand|"
        "nombre del archivo|nombre de archivo|archivo de audio|nome do arquivo|arquivo de audio|ficheiro|"
        "nome del file|file audio|nom du fichier|fichier audio|audiodatei|bestandsnaam|audiobestand|filnavn|"
        "filnamn|tiedosto|plik|nazwa pliku|soubor|fajl|dosya|файл|имя файла|название файла|קובץ|שם הקובץ|"
        "ファイル|ファイル名|文件|文件名|檔名|파일|파일명|master file|wav file|audio filename|wav name",
    "album":
        "album|album title|release|release title|release name|product title|albumtitel|titre de l album|"
        "titulo del album|titulo do album|titolo album|アルバム|アルバム名|album name|ep title|"
        "titulo del disco|nombre del album|titulo del lanzamiento|lanzamiento|nome do album|"
        "titulo do lancamento|lancamento|nome album|titolo dell album|titolo disco|titre album|"
        "nom de l album|titre du projet|name des albums|produkttitel|titel des albums|veroffentlichungstitel|"
        "albumnaam|titel album|albumets titel|albumin nimi|tytul albumu|tytul plyty|nazev alba|album cime|"
        "album adi|альбом|название альбома|название релиза|релиз|τιτλος αλμπουμ|αλμπουμ|אלבום|שם האלבום|"
        "الألبوم|اسم الألبوم|アルバムタイトル|作品タイトル|商品名|专辑|專輯|专辑名|专辑名称|專輯名稱|앨범|"
        "앨범명|앨범 제목|single title",
    "album_version": "album version|release version|edition title",
    "album_artist":
        "album artist|release artist|albumartist|albumkunstler|artiste de l album|artista del album|"
        "artista do album|artista album|アルバムアーティスト|artista del disco|artista principal del album|"
        "artista do disco|artista dell album|artiste album|artiste du projet|kunstler des albums|"
        "albumartiest|исполнитель альбома|אמן האלבום|專輯藝人|专辑艺人|앨범 아티스트|release artists|"
        "product artist",
    "label":
        "label|record label|labelname|label name|sello|selo|etichetta|レーベル|sello discografico|"
        "discografica|compania discografica|gravadora|selo fonografico|casa discografica|"
        "etichetta discografica|maison de disques|plattenfirma|platenlabel|platenmaatschappij|plateselskap|"
        "skivbolag|levy yhtio|levymerkki|wytwornia|vydavatelstvi|lemezkiado|plak sirketi|лейбл|"
        "издающий лейбл|δισκογραφικη|δισκογραφικη εταιρεια|לייבל|חברת תקליטים|שركة الإنتاج|شركة الإنتاج|"
        "レーベル名|発売元|厂牌|廠牌|唱片公司|레이블|음반사|imprint|label imprint",
    "catalogue_number":
        "catalogue|catalog|catalogue no|catalog no|catalogue number|catalog number|cat no|cat nr|cat|"
        "katalognummer|katalog nr|bestellnummer|numero de catalogue|reference|numero de catalogo|catalogo|"
        "catalogusnummer|品番|no de catalogo|n de catalogo|num catalogo|numero di catalogo|n catalogo|"
        "n catalogue|no catalogue|ref catalogue|reference catalogue|katalognr|artikelnummer|artikelnr|"
        "catalogusnr|katalognummer nr|numer katalogowy|nr katalogowy|katalogove cislo|katalogusszam|"
        "katalog no|каталожный номер|номер каталога|αριθμος καταλογου|מספר קטלוגי|מק ט|カタログ番号|規格品番|"
        "商品番号|目录编号|目錄編號|카탈로그 번호|product code|product no|selection number|order no",
    "upc":
        "upc|ean|upc ean|ean upc|barcode|bar code|gtin|upc code|ean code|strichcode|code barre|code barres|"
        "codigo de barras|codice a barre|upc number|jan|codigo upc|codigo ean|codigo de barra|codice ean|"
        "codice upc|code upc|code ean|ean code nr|ean nr|barcode nr|streepjescode|strekkode|streckkod|"
        "viivakoodi|kod kreskowy|carovy kod|vonalkod|barkod|штрихкод|штрих код|код upc|ברקוד|الباركود|"
        "バーコード|janコード|jan コード|条形码|條碼|바코드|upc ean jan|upc a|ean 13",
    "release_date":
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
        "release on",
    "original_date":
        "original release date|original date|first release|erstveroffentlichung|date de sortie originale|"
        "fecha de lanzamiento original|fecha original|data original de lancamento|data originale|"
        "date originale|originaldatum|erstausgabe|erstausgabedatum|data pierwszego wydania|"
        "дата первого релиза|原発売日|首次发行日期|original release|first release date",
    "p_line":
        "line p|linea p line|ligne p line|p line line|p line year owner|copyright p line|p line info|p line|"
        "p|p copyright|phonogram|phonographic copyright|sound recording copyright|pline|p notice|"
        "p year owner|p vermerk|linea p|linha p|linea de p|ligne p|p zeile|p linje|原盤権|℗ year and owner|"
        "p line text|phonogram rights|master owner|master rights|derechos fonograficos|"
        "derechos del fonograma|titolare master|ayant droit master",
    "c_line":
        "line c|linea c line|ligne c line|c line line|c line year owner|copyright c line|c line info|c line|"
        "c|copyright|c copyright|cline|c notice|c vermerk|linea c|linha c|ligne c|c zeile|c linje|"
        "авторские права|copyright c|著作権表示|著作権|版权|版權|저작권|copyright line|derechos de autor",
    "genre":
        "genre|main genre|primary genre|hauptgenre|genero|genere|style|ジャンル|genero musical|"
        "genero principal|genere musicale|genere principale|genre musical|style musical|musikrichtung|"
        "stilrichtung|stijl|sjanger|genrer|tyylilaji|gatunek|zanr|mufaj|жанр|стиль|ειδος|סגנון|ז אנר|النوع|"
        "ジャンル名|流派|风格|曲风|類型|장르",
    "subgenre":
        "subgenre|sub genre|secondary genre|subgenero|sottogenere|subgenero musical|sous genre|untergenre|"
        "subgenre s|поджанр|サブジャンル|子流派|하위 장르",
    "release_language":
        "language of titles|release language|album language|sprache der titel|langue des titres",
    "territories":
        "territory|territories|territorium|gebiet|territoire|territoires|territorio|territorios|"
        "rights territory|paises|territorios de venta|territori|gebiete|lander|pays de diffusion|территория|"
        "טריטוריה|地域|配信地域|发行地区|지역",
    "client":
        "client|customer|kunde|auftraggeber|cliente|ordered by|klient|zleceniodawca|заказчик|לקוח|"
        "クライアント|依頼者|客户|고객|opdrachtgever|commanditaire",
}
# fmt: on
"""Field -> its words, separated by '|'; the field's own title counts as well."""
