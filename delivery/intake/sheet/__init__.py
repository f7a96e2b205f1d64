"""Label copy as clients send it: a CSV, XLSX or ODS sheet with any header, in any order, with typical damage.

cells        the value of a cell, and the text shown
read         a file becomes grids of cells (the only module here that opens files; read_xlsx, read_ods)
encodings    text out of bytes
columns      the table of fields, with their header words in many languages
header       which rows are the header, and which field each column holds
values       a cell becomes a value, or a fault that quotes it
codes        the same for codes, which spreadsheets damage most
times        the same for dates, durations and numbers
positions    the same for sides, and numbers counted on them
placeholders placeholder words: TBC, none, ditto
names        several names in one cell, apart
shares       shares of a work
people       names with roles, shares and codes beside them
row          one track of a sheet
context         collects notes and faults while cells are read, and asks what a cell means
above        labels and values outside the table
headings     rows that are not tracks: sums, headings, the header again
persons      composers, lyricists and the columns beside them
ditto        cells that repeat another cell
of_release   columns that describe the release
tables       the tables of one sheet, and how they belong together
order        rows in order, and what may occur in one row only
rows         grid -> release values and track rows, with notes and faults
evidence     how well a row and a file belong together
match        rows find their files by number, title, length and code; nothing is guessed
write        rows -> the keys of a release file
last         what the last import stated, remembered beside the release file
merge        last import, sheet and release file, compared value by value: what goes in, what stays, what is a conflict
merge_text   the outcome put into the release file's text; every other byte stays
merge_words  the outcome in sentences
merging      these three, for a release file on disk
mapping      headers of a client's own, remembered
blank        a sheet to fill in
importing    all of the above, in order
"""
