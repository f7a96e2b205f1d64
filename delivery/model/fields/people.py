"""Writers and contributors of a track. Rows of the table of label-copy fields, see `row.py`."""

from __future__ import annotations

from delivery.model.fields.row import NO_TAG, NOT_STORED, Field, Kept, People, Tag

# fmt: off
ROWS: tuple[Field, ...] = (
    Field(id="composer", title="Composers", meaning="legal names; several with ';'",
          words=(
              "composer|composers|composed by|music|music by|komponist|komponisten|musik|compositeur|"
              "compositeurs|musique|compositor|compositores|musica|compositore|compositori|componist|kompositor|"
              "kompozytor|作曲|作曲者|compositor es|compositor a|autor de la musica|autor musica|compositora|"
              "musica de|musica por|compositor musica|autor da musica|compositori musica|musiche|musiche di|"
              "autore musica|compositeur s|auteur de la musique|musique de|komponiert von|musik von|tonsetzer|"
              "komponist in|muziek|muziek van|componisten|kompositorer|musikk|komponister|saveltaja|savel|muzyka|"
              "kompozytorzy|hudba|skladatel|zeneszerzo|zene|besteci|beste|muzik|композитор|композиторы|музыка|"
              "автор музыки|автор музики|συνθετης|μουσικη|מלחין|מלחינים|לחן|מוסיקה|מוזיקה|الملحن|ملحن|ألحان|"
              "作曲家|作曲者名|作曲名|曲 作曲|作曲人|谱曲|譜曲|作曲者 作曲|작곡|작곡가|작곡자"
          ),
          key="composers", about=("writers",), kept=Kept.OWN, people=People.PERSON,
          tag=Tag("composers", "Composers",
                  id3="TCOM", vorbis="COMPOSER", mp4="©wrt", info=NOT_STORED, bext=NOT_STORED,
                  axml=NOT_STORED, many=True),
          json_ld="composer", required_as="composers", on_sheet="Composers"),
    Field(id="lyricist", title="Lyricists", meaning="legal names; several with ';'",
          words=(
              "lyricist|lyricists|lyrics|lyrics by|words|words by|author of lyrics|textdichter|text|texter|"
              "textautor|texte|parolier|paroles|auteur|letrista|letra|autor de la letra|testo|paroliere|autore|"
              "tekstschrijver|tekst|textforfattare|作詞|作詞者|author|authors|letra de|autor letra|letrista s|"
              "autora de la letra|letra por|autor da letra|testi|testi di|autore testo|autore del testo|"
              "paroles de|auteur des paroles|auteur s|text von|worte|songtext|songtexte|texte von|tekst van|"
              "tekst av|tekstforfatter|textforfattare s|sanoittaja|sanoitus|slowa|tekst utworu|autor tekstu|"
              "autor slow|autor textu|szovegiro|szoveg|dalszoveg|soz yazari|sozler|guftekar|автор слов|слова|"
              "автор текста|поэт|слова автор|автор слів|στιχουργος|στιχοι|מילים|תמלילן|כותב מילים|כותב המילים|"
              "פזמונאי|תמליל|كلمات|كاتب الكلمات|الشاعر|الكلمات|作詞家|作詞者名|詞|作词|作词人|填词|填詞|作詞人|"
              "词作者|작사|작사가|작사자"
          ),
          key="lyricists", about=("writers",), kept=Kept.OWN, people=People.PERSON,
          tag=Tag("lyricists", "Lyricists",
                  id3="TEXT", vorbis="LYRICIST", mp4="free:LYRICIST", info=NOT_STORED,
                  bext=NOT_STORED, axml=NOT_STORED, many=True),
          json_ld="lyricist", required_as="lyricists", on_sheet="Lyricists"),
    Field(id="writer", title="Writers", meaning="who wrote both words and music",
          words=(
              "writer|writers|songwriter|songwriters|written by|composer lyricist|composer author|"
              "music and lyrics|words and music|urheber|musik und text|auteur compositeur|auteurs compositeurs|"
              "autor|autores|composers lyricists|composers authors|songwriter s|autori|auteurs|autor compositor|"
              "autores y compositores|autor y compositor|autores compositores|letra y musica|musica y letra|"
              "letra e musica|compositores e letristas|musica e testo|testo e musica|autori e compositori|"
              "parole e musica|auteur compositeur s|auteurs et compositeurs|paroles et musique|text und musik|"
              "komponist texter|komponisten und texter|autoren|urheber in|text musik|musik text|words music|"
              "music lyrics|lyrics music|muziek en tekst|tekst en muziek|musik och text|text och musik|"
              "tekst og musikk|muzyka i slowa|slowa i muzyka|autorzy|autor slow i muzyki|soz muzik|авторы|автор|"
              "автор музыки и слов|музыка и слова|слова и музыка|מילים ולחן|יוצרים|מחברים|كلمات وألحان|作詞作曲|"
              "作詞 作曲|作曲 作詞|著作者|词曲|詞曲|词曲作者|創作人|작사 작곡|작사작곡|writers composers|"
              "composers lyricists writers|written composed by|written and composed by|songwriting credits|"
              "authors composers"
          ),
          key="writers", about=("composers", "lyricists"), kept=Kept.OWN, people=People.PERSON,
          tag=Tag("writers", "Writers with part, share, society, IPI and publisher",
                  id3="TXXX:WRITERS", vorbis="WRITERS", mp4="free:WRITERS", info=NOT_STORED,
                  bext=NOT_STORED, axml=NOT_STORED, many=True),
          json_ld="composer", required_as="writers", on_sheet="Writers"),
    Field(id="share", title="Shares %", meaning="of the persons to the left, in their order; they add up to 100",
          words=(
              "% split|% share|% anteil|publishing split %|writer split %|share in %|anteil in %|share|shares|"
              "share %|split|splits|percent|percentage|share percent|anteil|anteile|part|parts|repartition|"
              "porcentaje|porcentagem|percentuale|quota|aandeel|%|porcentaje de autoria|participacion|cuota|"
              "percentuali|quote|quota autore|pourcentage|part s|cle de repartition|prozent|anteil in|verdeling|"
              "fordeling|osuus|udzial|procent|podil|pay|hisse|доля|процент|ποσοστο|אחוז|אחוזים|חלק|نسبة|持分|"
              "配分|比率|占比|比例|지분|비율|split %|ownership|ownership %|writer share|writers share|"
              "publishing split|publishing share"
          ),
          key="writers", kept=Kept.OWN,
          tag=NO_TAG,
          json_ld=NOT_STORED, required_as="shares", on_sheet="Writers"),
    Field(id="ipi", title="IPI", meaning="11 digits, in the same order",
          words="ipi|cae|ipi cae|cae ipi|ipi number|ipi no|ipi nr|ipi name number|ipi name no",
          key="writers", kept=Kept.OWN,
          tag=NO_TAG,
          json_ld=NOT_STORED, required_as="ipi", on_sheet="Writers"),
    Field(id="society", title="Society", meaning="collecting society, in the same order",
          words=(
              "society|pro|collecting society|verwertungsgesellschaft|societe|sociedad|sociedade|societa|cmo|"
              "sociedad de gestion|entidad de gestion|sociedade de autores|societa di collecting|collecting|"
              "societe d auteurs|urheberrechtsgesellschaft|auteursrechtenorganisatie|организация|著作権管理団体|"
              "管理団体|协会|저작권 단체|performing rights organisation|performing rights organization|"
              "pro affiliation|affiliation"
          ),
          key="writers", kept=Kept.OWN, people=People.FIRM,
          tag=NO_TAG,
          json_ld=NOT_STORED, required_as="society", on_sheet="Writers"),
    Field(id="publisher", title="Publishers", meaning="in the same order",
          words=(
              "publisher|publishers|publishing|music publisher|verlag|verlage|musikverlag|editeur|editeurs|"
              "editorial|editora|editore|edizioni|uitgever|forlag|出版社|edition|editoriales|editorial musical|"
              "editoras|editora musical|editori|edizioni musicali|editore musicale|editeur s|editions|"
              "editions musicales|musikverlage|verlag e|muziekuitgever|uitgeverij|musikforlag|forlag s|forlagg|"
              "kustantaja|wydawca muzyczny|nakladatel|kiado|yayinci|edisyon|издатель|издательство|паблишер|"
              "εκδοτης|מו ל|הוצאה לאור|الناشر|音楽出版社|音楽出版者|出版者|出版社名|版权公司|出版公司|音乐出版|"
              "출판사|음악 출판사|퍼블리셔|publishing company|original publisher"
          ),
          key="publishers", about=("writers",), kept=Kept.OWN, people=People.FIRM,
          tag=Tag("publishers", "Publishers of the work",
                  id3="TXXX:MUSICPUBLISHER", vorbis="MUSICPUBLISHER", mp4="free:MUSICPUBLISHER",
                  info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED, many=True),
          json_ld="publisher", required_as="publishers", on_sheet="Publishers"),
    Field(id="producer", title="Producers", meaning="several with ';'",
          words=(
              "producer|producers|produced by|produzent|produzenten|producteur|realisateur|productor|produtor|"
              "produttore|producent|プロデューサー|produccion|producido por|productor a|productores|"
              "productor musical|producao|produzido por|produtor musical|produtores|prodotto da|produzione|"
              "produttori|produttore artistico|realisation|realise par|realisateur artistique|produit par|"
              "producteurs|produziert von|produktion|producenten|geproduceerd door|produsent|producent s|"
              "tuottaja|producenci|produkce|produkcia|yapimci|produktor|продюсер|продюсеры|саунд продюсер|"
              "παραγωγος|מפיק|מפיקים|הפקה|הפקה מוזיקלית|מפיק מוזיקלי|المنتج|サウンドプロデューサー|プロデュース|"
              "制作人|製作人|프로듀서|record producer|music producer"
          ),
          key="credits", kept=Kept.CREDIT, role="producer", people=People.PERSON,
          tag=Tag("producers", "Producers",
                  id3="TIPL:producer", id3_23="IPLS:producer", vorbis="PRODUCER",
                  mp4="free:PRODUCER", info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED,
                  many=True),
          json_ld="producer", required_as="producers", on_sheet="Credits"),
    Field(id="mixer", title="Mixers", meaning="several with ';'",
          words=(
              "mixer|mixers|mixed by|mix engineer|mixing engineer|mischung|mixe par|mezclado por|mixage|"
              "missaggio|mezcla por|ingeniero de mezcla|mixagem|engenheiro de mixagem|tecnico di missaggio|"
              "mix di|mixe|ingenieur mixage|mischer|mix von|gemischt von|gemixt door|mixat av|miks|miksaus|"
              "сведение|звукорежиссер сведения|מיקס|טכנאי מיקס|ミックス|ミキシング|ミキサー|ミックスエンジニア|"
              "混音|混音师|混音師|믹싱|믹스"
          ),
          key="credits", kept=Kept.CREDIT, role="mixer", people=People.PERSON,
          tag=Tag("mixers", "Mixers",
                  id3="TIPL:mix", id3_23="IPLS:mix", vorbis="MIXER", mp4="free:MIXER",
                  info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED, many=True),
          json_ld="contributor", required_as="mixers", on_sheet="Credits"),
    Field(id="mastering_engineer", title="Mastering engineers", meaning="several with ';'",
          words=(
              "mastering|mastered by|mastering engineer|mastering engineers|masterise par|masterizado por|"
              "masterizacion|masterizado|ingeniero de mastering|masterizacao|masterizado em|mastering di|"
              "masterizzazione|tecnico di mastering|mastering par|ingenieur mastering|gemastert von|"
              "mastering von|mastering door|masterointi|мастеринг|инженер мастеринга|מאסטרינג|マスタリング|"
              "マスタリングエンジニア|母带|母带工程师|母帶|마스터링"
          ),
          key="credits", kept=Kept.CREDIT, role="mastering engineer", people=People.PERSON,
          tag=Tag("mastering_engineers", "Mastering engineers",
                  id3="TIPL:engineer", id3_23="IPLS:engineer", vorbis="ENGINEER",
                  mp4="free:ENGINEER", info="IENG", bext=NOT_STORED, axml=NOT_STORED, many=True),
          json_ld="contributor", required_as="mastering_engineers", on_sheet="Credits"),
    Field(id="conductor", title="Conductors", meaning="several with ';'",
          words=(
              "conductor|conductors|conducted by|orchestra conductor|dirigent|dirigentin|dirigenten|dirigent in|"
              "dirigiert von|musikalische leitung|chef d orchestre|chefs d orchestre|dirige par|"
              "sous la direction de|direttore d orchestra|direttrice d orchestra|diretto da|director de orquesta|"
              "directora de orquesta|dirigido por|maestro|regente|maestrina|regido por|gedirigeerd door|"
              "dirigerad av|dirigeret af|kapellimestari|orkesterin johtaja|dyrygent|dyrygenci|karmester|"
              "vezenyel|orkestra sefi|дирижер|дирижеры|диригент|μαεστρος|διευθυντης ορχηστρας|מנצח|מנצחת|"
              "قائد الأوركسترا|المايسترو|指揮|指揮者|指挥|指挥家|指揮家|지휘|지휘자"
          ),
          key="credits", kept=Kept.CREDIT, role="conductor", people=People.PERSON,
          tag=Tag("conductors", "Conductors",
                  id3="TPE3", vorbis="CONDUCTOR", mp4="free:CONDUCTOR", info=NOT_STORED, bext=NOT_STORED,
                  axml=NOT_STORED, many=True),
          json_ld="contributor", required_as="conductors", on_sheet="Credits"),
)
# fmt: on
