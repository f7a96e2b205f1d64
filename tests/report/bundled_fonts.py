"""The fonts in ``delivery/report/fonts`` and where they come from: unmodified, by version and checksum.

``python -m tests.report.bundled_fonts`` fetches them again. To renew them, change the versions, run it, and put the
checksums it prints into the table after looking at pages in every script (``tests/samples.py`` has titles).
They are unmodified because the Open Font License reserves the name Plex for unmodified files.
"""

from __future__ import annotations

import hashlib
import io
import subprocess
import sys
import tarfile
import tempfile
import zipfile
from collections.abc import Iterator
from pathlib import Path

from delivery.report.font_files import FOLDER

SOURCES = {"fontpkg-ibm-plex-sans": "3.201", "manimgx-fonts": "2026.9.26.post1"}
LICENCES = {"fontpkg-ibm-plex-sans": "OFL-IBM-Plex.txt", "manimgx-fonts": "OFL-Noto.txt"}
DEBIAN = {
    "base-files": {"./usr/share/common-licenses/Apache-2.0": "Apache-Droid.txt"},
    "fonts-dejavu-core": {
        "./usr/share/doc/fonts-dejavu-core/copyright": "DejaVu.txt",
        "./usr/share/fonts/truetype/dejavu/DejaVuSans.ttf": "DejaVuSans.ttf",
    },
    "fonts-droid-fallback": {
        "./usr/share/fonts-droid-fallback/truetype/DroidSansFallback.ttf": "DroidSansFallback.ttf",
    },
}
"""Packages of Debian 12, which no package index has in this form: file in the package -> name here."""
SHA256 = {
    "Apache-Droid.txt": "cfc7749b96f63bd31c3c42b5c471bf756814053e847c10f3eb003417bc523d30",
    "DejaVu.txt": "63d3ba759d12804c5b31a9d5940d855c1820d1f5999e6b0872eb1c7ff045fbc9",
    "DejaVuSans.ttf": "abdc775b21b1bc470d50c97e790d276f2054b7504e56e5bd3e64f48d68582322",
    "DroidSansFallback.ttf": "56d3edfb377a8bc3c4b77f4476405c770173c0e31221ad7c77d0a8e1f3039a3e",
    "IBMPlexSans[wdth,wght].ttf": "3b031aa4216174205bd8471f88a49b91f093169e9e87bd5262242bc5967fe2e3",
    "NotoEmoji[wght].ttf": "de6c18832938afc99caf132b39d6a30a19bac7f2e812e28db2535b4608d27551",
    "NotoSansArabic[wght].ttf": "3fae4d7239d1faa55b234bda8091019a5251ff79df40d5e29367d84bed2a8138",
    "NotoSansArmenian[wght].ttf": "e979dfaed56ddb4bfd05121958b25425eb7593253d64b6b3654c77c11c5cda94",
    "NotoSansBengali[wght].ttf": "dc9defe97bb041876b6609e9029d9e1e228a686259acde2fe2a9f99d793ee17d",
    "NotoSansDevanagari[wght].ttf": "bf99bf762743ff3259e73196852520ab0ffe8d384238bff3e4806a84b981e972",
    "NotoSansEthiopic[wght].ttf": "93f223089e300b983dbfd693c7be619e0e76565a70d639e71a4fe0bfd72cf66f",
    "NotoSansGeorgian[wght].ttf": "42f4a8bf4fe0af8afd91ee3c19e81e14f1bc74ddbd9b6a59a4182f67a596adb4",
    "NotoSansGujarati[wght].ttf": "83d1bde74d64fb389f97a5e27b2699d8ee8bad4c15a02be347228e6c10011248",
    "NotoSansGurmukhi[wght].ttf": "8a3096ee2166f6383501e2df7b368fce88cfa4068c8d75bcb6af07da353a00ea",
    "NotoSansHebrew[wght].ttf": "9d81d81ad592644487b03843da73a87b99cd28a2c4da4a096e1db8fbd14fda61",
    "NotoSansKannada[wght].ttf": "b6b11505d76eddf916667d73adfec19095ec777742444dc662dae81471461f4e",
    "NotoSansKhmer[wght].ttf": "56f89948a84cc0b01962ed6af573ac4ac885bd7bb6e7e40f9afc72a435728b70",
    "NotoSansLao[wght].ttf": "fc138d605aa998d8407789ee6a7f5554aae8b54f5cd98d66dd2c33e79d15b67e",
    "NotoSansMalayalam[wght].ttf": "94cddc94a03fa9a5e8d1784090ba97b267def6933d60762081eaa003751142c5",
    "NotoSansMyanmar[wght].ttf": "e0b280aa3080aab922800c88fa9a2015a4bec3103bb8b70491a92e4a04f3a3a3",
    "NotoSansOriya[wght].ttf": "37f482d0179d0a50e3128d004f007ff1c1741ad5f6b0b2bcc7238b257ef1caa0",
    "NotoSansSinhala[wght].ttf": "3fd7c6a61cb6dfb8a2ca7af5b4078bd24e9c8ad9b55839a0177277db6e4d1326",
    "NotoSansSymbols[wght].ttf": "63724daeff6755a45933b9a5e3a3b41df5df8fe925c0f4c991f2f68c08a4182d",
    "NotoSansTamil[wght].ttf": "37e151cdec4a8cfb15c432f7bb164a83b98df69419d47e50b35aa7073963716b",
    "NotoSansTelugu[wght].ttf": "6c06de88b2d420d899543724a13765994191cd29860c6226efca098b51fec64b",
    "NotoSansThai[wght].ttf": "13f52f79b04f01f2751a81052a5dee2df639fd4e13f4ac30821ab45c8dd5f7e7",
    "NotoSans[wght].ttf": "fb53504de62e767a54695416123d68d67f71c9b69722175184ad56e7dd13547b",
    "OFL-IBM-Plex.txt": "7e6b2818edbd8f6a01ae80641cc8f16a51080d08fb4e532be3a0b6f74adb07da",
    "OFL-Noto.txt": "e38218c6a118e0408a0c9ae8e88fddf6d483a9c592e1a91bfcd9f5fa7ccceec0",
}


def fetched(into: Path) -> Iterator[tuple[str, bytes]]:
    """Name here and content of every font and licence in the source packages."""
    for package, version in SOURCES.items():
        pip = [sys.executable, "-m", "pip", "download", "--quiet", "--no-deps", "--only-binary=:all:"]
        subprocess.run([*pip, "--dest", str(into), f"{package}=={version}"], check=True)
        (wheel,) = into.glob(f"{package.replace('-', '_')}-*.whl")
        with zipfile.ZipFile(wheel) as archive:
            for name in archive.namelist():
                if name.endswith(".ttf") and "Italic" not in name:
                    yield Path(name).name, archive.read(name)
                elif name.endswith("dist-info/licenses/LICENSE"):
                    yield LICENCES[package], archive.read(name)


def fetched_from_debian(into: Path) -> Iterator[tuple[str, bytes]]:
    """The same of what Debian's packages have; needs apt and dpkg."""
    for package, files in DEBIAN.items():
        subprocess.run(["apt-get", "download", "--quiet", package], cwd=into, check=True)
        (archive,) = into.glob(f"{package}_*.deb")
        tar = subprocess.run(["dpkg-deb", "--fsys-tarfile", str(archive)], check=True, capture_output=True).stdout
        with tarfile.open(fileobj=io.BytesIO(tar)) as members:
            for path, name in files.items():
                file = members.extractfile(path)
                assert file
                yield name, file.read()


def main() -> int:
    """Write every file whose checksum is the one in the table; how many were not."""
    wrong = 0
    with tempfile.TemporaryDirectory() as folder:
        for name, content in (*fetched(Path(folder)), *fetched_from_debian(Path(folder))):
            digest = hashlib.sha256(content).hexdigest()
            if SHA256.get(name) == digest:
                (FOLDER / name).write_bytes(content)
            else:
                wrong += 1
                print(f'not written, another checksum than in the table:\n    "{name}": "{digest}",')
    return wrong


if __name__ == "__main__":
    sys.exit(main())
