"""How, where and when a track was recorded, and where it goes. Rows of the table of label-copy fields, see `row.py`."""

from __future__ import annotations

from delivery.model.fields.row import NO_TAG, NOT_IN_FILE, NOT_REQUIRED, NOT_STORED, Field, Kept, Tag

# fmt: off
ROWS: tuple[Field, ...] = (
    Field(id="recording_studio", title="Studio", meaning="where it was recorded",
          words=(
              "studio|recording studio|recorded at|recording location|aufnahmestudio|aufnahmeort|"
              "studio d enregistrement|estudio|estudio de grabacion|studio di registrazione|opnamestudio|"
              "grabado en|lugar de grabacion|gravado em|estudio de gravacao|registrato presso|"
              "lieu d enregistrement|enregistre a|aufgenommen in|opgenomen in|студия|студия записи|אולפן|"
              "スタジオ|録音スタジオ|レコーディングスタジオ|录音室|錄音室|스튜디오|녹음실"
          ),
          key="recording_studio", kept=Kept.OWN,
          tag=Tag("recording_studio", "Where it was recorded",
                  id3="TXXX:LOCATION", vorbis="LOCATION", mp4="free:LOCATION", info=NOT_STORED,
                  bext=NOT_STORED, axml=NOT_STORED),
          json_ld="locationCreated", required_as="recording_studio", on_sheet="Recorded"),
    Field(id="recording_country", title="Recording country", meaning="two letters, or its English name",
          words=(
              "recording country|country of recording|country|land|aufnahmeland|pays|pays d enregistrement|pais|"
              "paese|pais de grabacion|pais de gravacao|paese di registrazione|land der aufnahme|land van opname|"
              "страна|страна записи|מדינה|מדינת הקלטה|録音国|录制国家|국가"
          ),
          key="recording_country", kept=Kept.OWN,
          tag=Tag("recording_country", "Country of recording (ISO 3166-1)",
                  id3="TXXX:RECORDINGCOUNTRY", vorbis="RECORDINGCOUNTRY",
                  mp4="free:RECORDINGCOUNTRY", info=NOT_STORED, bext=NOT_STORED,
                  axml=NOT_STORED),
          json_ld=NOT_STORED, required_as="recording_country", on_sheet="Recorded"),
    Field(id="recording_year", title="Recording year", meaning="four digits",
          words=(
              "recording year|year of recording|year recorded|aufnahmejahr|annee d enregistrement|"
              "ano de grabacion|ano de gravacao|anno di registrazione|opnamejaar|год записи|שנת הקלטה|録音年|"
              "录制年份|ano grabacion"
          ),
          key="recording_year", kept=Kept.OWN,
          tag=Tag("recording_year", "Year of recording",
                  id3="TXXX:RECORDINGYEAR", vorbis="RECORDINGYEAR", mp4="free:RECORDINGYEAR",
                  info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED),
          json_ld=NOT_STORED, required_as="recording_year", on_sheet="Recorded"),
    Field(id="bpm", title="BPM", meaning="beats a minute",
          words="bpm|tempo|темп|テンポ|tempo bpm",
          key="bpm", kept=Kept.OWN,
          tag=Tag("bpm", "Beats a minute",
                  id3="TBPM", vorbis="BPM", mp4="tmpo", info=NOT_STORED, bext=NOT_STORED,
                  axml=NOT_STORED),
          json_ld=NOT_STORED, required_as="bpm", on_sheet="Tempo and key"),
    Field(id="key", title="Key", meaning="D minor",
          words=(
              "key|musical key|tonart|tonalite|tonalidad|tonalita|tom|tonalidade|toonsoort|toonaard|тональность|"
              "סולם|キー|調|调|調性"
          ),
          key="key", kept=Kept.OWN,
          tag=Tag("key", "Musical key",
                  id3="TKEY", vorbis="KEY", mp4="free:KEY", info=NOT_STORED, bext=NOT_STORED,
                  axml=NOT_STORED, also="INITIALKEY"),
          json_ld="musicalKey", required_as="key", on_sheet="Tempo and key"),
    Field(id="preview_start", title="Preview start", meaning="minutes:seconds",
          words=(
              "preview|preview start|preview start time|clip start|sample start|snippet start|vorhorstart|extrait"
          ),
          key="preview_start_s", kept=Kept.OWN,
          tag=Tag("preview_start_s", "Start of the preview, seconds",
                  id3="TXXX:PREVIEWSTART", vorbis="PREVIEWSTART", mp4="free:PREVIEWSTART",
                  info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED),
          json_ld=NOT_STORED, required_as="preview_start_s", on_sheet="Preview from"),
    Field(id="samples", title="Samples", meaning="'none', or artist and title of each; add '(cleared)' where it is",
          words="samples|sample|samples used|contains samples|sample clearance|sample clearances",
          key="samples", kept=Kept.OWN,
          tag=Tag("samples", "Recordings of others inside, and whether they are cleared",
                  id3="TXXX:SAMPLES", vorbis="SAMPLES", mp4="free:SAMPLES", info=NOT_STORED,
                  bext=NOT_STORED, axml=NOT_STORED, many=True),
          json_ld=NOT_STORED, required_as="samples", on_sheet="Samples"),
    Field(id="other_credits", title="Other credits", meaning="function: name; function: name",
          words=(
              "other credits|credits|musicians|players|personnel|line up|besetzung|mitwirkende|"
              "credits artistiques"
          ),
          key="credits", kept=Kept.OWN,
          tag=Tag("credits", "Other credits",
                  id3="TXXX:CREDITS", vorbis="CREDITS", mp4="free:CREDITS", info=NOT_STORED,
                  bext=NOT_STORED, axml=NOT_STORED, many=True),
          json_ld="contributor", required_as=NOT_REQUIRED, on_sheet="Credits"),
    Field(id="original_artist", title="Original artist", meaning="of a song recorded again",
          words="original artist|originally performed by|cover of|originalinterpret",
          key="original_artist", kept=Kept.TEXT,
          example="Low Lantern",
          tag=Tag("original_artist", "Original artist",
                  id3="TOPE", vorbis="ORIGINALARTIST", mp4="free:ORIGINALARTIST",
                  info=NOT_STORED, bext=NOT_STORED, axml=NOT_STORED),
          json_ld=NOT_STORED, required_as=NOT_REQUIRED, on_sheet="First recorded by"),
    Field(id="gap_before", title="Gap before", meaning="seconds of silence before the track",
          words="gap|gap before|pause|pause before|pregap|pausen",
          key="gap_before_s", kept=Kept.OWN,
          tag=NO_TAG,
          json_ld=NOT_STORED, required_as=NOT_REQUIRED, on_sheet="Gap before"),
    Field(id="only_for", title="Only for", meaning="specs that alone receive the track, by their ids; several with ';'",
          words="only for",
          key="only_for", kept=Kept.OWN,
          tag=NO_TAG,
          json_ld=NOT_STORED, required_as=NOT_REQUIRED, on_sheet="Goes to"),
    Field(id="not_for", title="Not for", meaning="specs that do not receive the track, by their ids; several with ';'",
          words="not for",
          key="not_for", kept=Kept.OWN,
          tag=NO_TAG,
          json_ld=NOT_STORED, required_as=NOT_REQUIRED, on_sheet="Goes to"),
    Field(id="file", title="File", meaning="name of the master",
          words=(
              "file|filename|file name|audio file|wav|dateiname|datei|fichier|archivo|arquivo|nome file|bestand|"
              "nombre del archivo|nombre de archivo|archivo de audio|nome do arquivo|arquivo de audio|ficheiro|"
              "nome del file|file audio|nom du fichier|fichier audio|audiodatei|bestandsnaam|audiobestand|"
              "filnavn|filnamn|tiedosto|plik|nazwa pliku|soubor|fajl|dosya|файл|имя файла|название файла|קובץ|"
              "שם הקובץ|ファイル|ファイル名|文件|文件名|檔名|파일|파일명|master file|wav file|audio filename|"
              "wav name"
          ),
          key=NOT_IN_FILE, kept=Kept.OWN,
          tag=NO_TAG,
          json_ld=NOT_STORED, required_as=NOT_REQUIRED, on_sheet="Master file"),
)
# fmt: on
