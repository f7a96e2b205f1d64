cimport cython
from libc.math cimport cos, rint, sin
from libc.stdint cimport int32_t, int64_t

cdef Py_ssize_t FIRST_LINE, FRAME, GROUP, LAST_LINE, PIECE, QUIET_PIECE, REACH, SOUNDS, SPAN, STRIDE, TILE, STRETCH, CHUNK
cdef double BARE, NEARLY, QUIET_STEPS, PI, SCALE, INFINITE, MOST_ALONG

@cython.locals(used=Py_ssize_t)
cpdef Py_ssize_t used_bits(const double[:, ::1] planar, Py_ssize_t least, Py_ssize_t enough)
@cython.locals(start=Py_ssize_t, end=Py_ssize_t, joined=int32_t, whole=int32_t)
cdef Py_ssize_t _used_bits(const double[::1] row, Py_ssize_t used, Py_ssize_t enough) noexcept nogil
cdef Py_ssize_t _bits_of(int32_t joined) noexcept nogil
@cython.locals(used=Py_ssize_t)
cpdef Py_ssize_t whole_bits(const double[:, ::1] planar, Py_ssize_t least)
@cython.locals(start=Py_ssize_t, end=Py_ssize_t, joined=int32_t, inexact=bint, whole=int32_t, scaled=double)
cdef Py_ssize_t _whole_bits(const double[::1] row, Py_ssize_t used) noexcept nogil
cpdef Py_ssize_t count_small(const double[::1] samples, double step, Py_ssize_t most, int64_t[::1] histogram)
@cython.locals(limit=double, counted=Py_ssize_t, start=Py_ssize_t, end=Py_ssize_t, near=Py_ssize_t, place=int64_t)
cdef Py_ssize_t _count_small(const double[::1] samples, double step, Py_ssize_t most, int64_t[::1] histogram) noexcept nogil
cpdef quiet_pieces(const double[::1] samples, double step, int64_t[::1] found)
@cython.locals(limit=double, low=double, high=double, bends=double, finer=bint, value=double, scaled=double, bend=double)
cdef void _quiet_piece(const double[::1] samples, Py_ssize_t start, double step, int64_t[::1] found) noexcept nogil
@cython.locals(tiles=float[:, :, ::1], tile=Py_ssize_t)
cpdef mdct_zeros(
    const double[:, ::1] x, double[:, :, ::1] sums, Py_ssize_t first, const double[:, ::1] turns, const double[:, ::1] terms,
    float[:, ::1] counts
)
@cython.locals(
    change=double[8], one=double[8], other=double[8], turn_re=double, turn_im=double, half_one=double, half_other=double, at=Py_ssize_t
)
cdef inline void _slide(
    const double[:, ::1] x, Py_ssize_t start, const double[:, ::1] turns, double[:, :, ::1] state, float[:, :, ::1] tiles
) noexcept nogil
@cython.locals(
    along1=float[64], along2=float[64], along3=float[64], across1=float[64], across2=float[64], across3=float[64], near=float[64],
    b=float, c=float, limit=float, along=float, across=float, row=Py_ssize_t, w=Py_ssize_t, t=Py_ssize_t
)
cdef inline void _count_zeros(
    const double[:, ::1] terms, Py_ssize_t first, float[:, :, ::1] tiles, float[:, ::1] counts, Py_ssize_t start
) noexcept nogil
@cython.locals(sums=double[:, :, ::1], turns=double[:, ::1])
cpdef hybrid_zeros(const double[::1] subband, float[::1] counts)
@cython.locals(angle=double, wave_re=double, wave_im=double, phase=double)
cdef void _hybrid_zeros(const double[::1] subband, float[::1] counts, double[:, :, ::1] sums, double[:, ::1] turns) noexcept nogil
@cython.locals(near=float[32], limit=double, z_re=double, z_im=double, real=double)
cdef inline void _count_hybrid_zeros(double[:, :, ::1] sums, Py_ssize_t k, double along_re, double along_im, float[::1] row) noexcept nogil
@cython.locals(turn_re=double, turn_im=double, half_re=double, half_im=double, change=double, new_re=double, new_im=double)
cdef inline void _slide_hybrid(
    const double[::1] subband, Py_ssize_t start, double[:, :, ::1] sums, Py_ssize_t j, double[:, ::1] turns
) noexcept nogil
cpdef double steady_treble(const double[::1] x)
@cython.locals(least=double, start=Py_ssize_t)
cdef double _steady_treble(const double[::1] x) noexcept nogil
@cython.locals(lanes=double[8], bend=double)
cdef double _bends(const double[::1] x, Py_ssize_t begin, Py_ssize_t end) noexcept nogil
