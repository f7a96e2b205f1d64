cimport cython
from libc.stdint cimport int64_t

cdef Py_ssize_t HISTORY, OPEN, STATE_SIZE, STEPS_PER_S, STRETCH
cdef double STILL

@cython.locals(room=double[:, ::1], spare=double[::1])
cpdef weighted_energy(
    const double[:, ::1] planar, const int64_t[::1] ends, const double[:, ::1] columns, const double[::1] weights, double[:, ::1] state,
    double[::1] energy
)
@cython.locals(a=double, b=double, e=double, f=double, step=Py_ssize_t, at=Py_ssize_t, end=Py_ssize_t, frames=Py_ssize_t)
cdef void _pair_energy(
    const double[:, ::1] planar, Py_ssize_t left, Py_ssize_t right, const int64_t[::1] ends, const double[:, ::1] columns,
    const double[::1] weights, double[::1] other, double[:, ::1] state, double[::1] energy, double[:, ::1] room
) noexcept nogil
@cython.locals(a=double, b=double, c=double, early=Py_ssize_t, j=Py_ssize_t)
cdef void _differences(
    const double[::1] x, Py_ssize_t at, Py_ssize_t count, const double[::1] before, double[::1] differences
) noexcept nogil
@cython.locals(
    a=double[8], b=double[8], c=double[8], d=double[8], e=double[8], f=double[8], g=double[8], h=double[8],
    m=double[8], n=double[8], q=double[8], r=double[8], s=double[8], t=double[8],
    u=double[8], v=double[8], lefts=double[8], rights=double[8],
    u0=double, u1=double, u2=double, u3=double, v0=double, v1=double, v2=double, v3=double, whole=Py_ssize_t
)
cdef (double, double) _weighted(
    const double[::1] x, const double[::1] y, Py_ssize_t count, const double[:, ::1] columns, double[::1] left, double[::1] right
) noexcept nogil
@cython.locals(q=double, r=double, s=double, t=double, total=double)
cdef inline double _next(const double[::1] x, Py_ssize_t i, const double[:, ::1] columns, double[::1] state) noexcept nogil
cdef inline void _settle(double[::1] state) noexcept nogil
cdef void _keep_last(const double[:, ::1] planar, double[:, ::1] state) noexcept nogil
cpdef int64_t step_end(int64_t k, int64_t rate_hz) noexcept nogil
cpdef (double, Py_ssize_t) window_powers(
    const double[::1] energy, int64_t rate_hz, Py_ssize_t width, Py_ssize_t apart, double[::1] powers
)
@cython.locals(highest=double, highest_at=Py_ssize_t, total=double, power=double)
cdef (double, Py_ssize_t) _window_powers(
    const double[::1] energy, int64_t rate_hz, Py_ssize_t width, Py_ssize_t apart, double[::1] powers
) noexcept nogil
@cython.locals(lanes=double[8])
cdef double _sum(const double[::1] x, Py_ssize_t first, Py_ssize_t count) noexcept nogil
cpdef step_sums(
    const double[:, ::1] planar, const int64_t[::1] ends, Py_ssize_t held, double[:, ::1] open_sums, double[:, :, ::1] sums
)
@cython.locals(at=Py_ssize_t, end=Py_ssize_t, before=Py_ssize_t, a=double, b=double, m=double)
cdef void _step_sums(
    const double[::1] row, Py_ssize_t c, const int64_t[::1] ends, Py_ssize_t held, double[:, ::1] open_sums, double[:, :, ::1] sums
) noexcept nogil
@cython.locals(a=double[8], b=double[8], m=double[8], place=double, value=double)
cdef (double, double, double) _moments(const double[::1] x, Py_ssize_t at, Py_ssize_t end) noexcept nogil
