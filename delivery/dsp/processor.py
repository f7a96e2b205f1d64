"""Which of the compiled variants this processor can run.

Compiled, like the loops, so that the compiler's own test of the processor (and of the system, which must save the wide
registers) can be used; as plain Python no variant is chosen.
"""

from __future__ import annotations

try:
    import cython
except ImportError:
    from delivery.dsp import uncompiled as cython

if not cython.compiled:
    from delivery.dsp.uncompiled import report

    report()

    def has_avx2() -> bool:
        return False

    def has_avx512() -> bool:
        return False


def folders(package: list[str]) -> list[str]:
    """Search path of a package's modules: the variant for this processor, then the package's own folder."""
    found = [name for name, has in (("_avx512", has_avx512()), ("_avx2", has_avx2())) if has]
    return [*(f"{package[0]}/{name}" for name in found[:1]), *package]
