cimport cython
from libc.stdint cimport int64_t

cdef Py_ssize_t STRETCH

cpdef mean(const double[:, ::1] planar, float[::1] mixed)
@cython.locals(total=double)
cdef void _mean(const double[:, ::1] planar, float[::1] mixed, Py_ssize_t at) noexcept nogil
cdef void _split(const float[::1] x, Py_ssize_t at, Py_ssize_t count, float[::1] first, float[::1] second) noexcept nogil
@cython.locals(w0=float, w1=float, w2=float, w3=float, half=float, near=float, far=float, wide=float, last=float)
cdef void _start(
    const float[::1] middle, const float[::1] odd, Py_ssize_t pairs, const float[::1] weights, float[::1] kept, Py_ssize_t at,
    Py_ssize_t count
) noexcept nogil
@cython.locals(w0=float, w1=float, w2=float, w3=float, near=float, far=float, wide=float, last=float)
cdef void _go_on(
    const float[::1] odd, Py_ssize_t b, Py_ssize_t a, const float[::1] weights, Py_ssize_t k, float[::1] kept, Py_ssize_t at,
    Py_ssize_t count
) noexcept nogil
@cython.locals(room=float[:, ::1])
cpdef halve(const float[::1] x, const float[::1] weights, float[::1] kept)
@cython.locals(at=Py_ssize_t, few=Py_ssize_t)
cdef void _halve(
    const float[::1] x, const float[::1] weights, Py_ssize_t pairs, float[::1] kept, Py_ssize_t behind, Py_ssize_t count, float[::1] odd,
    float[::1] middle
) noexcept nogil
@cython.locals(
    room=float[:, ::1], x=float[::1], y=float[::1], stage=Py_ssize_t, kept=Py_ssize_t, behind=Py_ssize_t, i=Py_ssize_t
)
cpdef thinned(const double[:, ::1] planar, const float[:, ::1] half_bands, const int64_t[::1] spans, float[:, ::1] waiting, int64_t[::1] counts)
cdef void _lead(const float[::1] waiting, Py_ssize_t count, float[::1] x) noexcept nogil
@cython.locals(
    v=float, w=float, v0=float, v1=float, v2=float, v3=float, w0=float, w1=float, w2=float, w3=float, a=float, b=float, c=float, d=float
)
cdef void _both(
    const float[::1] x, Py_ssize_t begin, Py_ssize_t frames, const float[:, ::1] bands, float[::1] one, float[::1] other
) noexcept nogil
@cython.locals(lanes=float[16])
cdef double _energy(const float[::1] x, Py_ssize_t begin, Py_ssize_t end) noexcept nogil
@cython.locals(frames=Py_ssize_t, room=float[:, ::1])
cpdef band_energies(
    const float[::1] x, const float[:, ::1] bands, const int64_t[::1] ends, double[::1] open_sums, double[:, ::1] energies
)
@cython.locals(at=Py_ssize_t, end=Py_ssize_t)
cdef void _band_energies(
    const float[::1] x, const float[:, ::1] bands, const int64_t[::1] ends, double[::1] open_sums, double[:, ::1] energies,
    Py_ssize_t frames, float[::1] one, float[::1] other
) noexcept nogil
