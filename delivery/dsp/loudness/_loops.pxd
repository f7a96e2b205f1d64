cimport cython
from libc.stdint cimport int64_t

cdef Py_ssize_t HISTORY, STEPS_PER_S, STRETCH
cdef double STILL

@cython.locals(total=double, j=Py_ssize_t, past=double)
cdef void _numerators(
    const double[::1] x, Py_ssize_t at, Py_ssize_t count, double[::1] before, const double[::1] taps, double[::1] out
) noexcept nogil
@cython.locals(taps=double[::1], feedback=double[::1], room=double[:, ::1], left=Py_ssize_t)
cpdef weighted_energy(
    const double[:, ::1] planar, const int64_t[::1] ends, coefficients, const double[::1] weights, double[:, ::1] state, double[::1] energy
)
@cython.locals(
    u=double, v=double, s=double, t=double, u1=double, u2=double, v1=double, v2=double, s1=double, s2=double, t1=double, t2=double,
    e=double, f=double, step=Py_ssize_t, at=Py_ssize_t, end=Py_ssize_t, right=Py_ssize_t, frames=Py_ssize_t
)
cdef void _pair_energy(
    const double[:, ::1] planar, Py_ssize_t left, const int64_t[::1] ends, const double[::1] taps, const double[::1] feedback,
    const double[::1] weights, double[:, ::1] state, double[::1] energy, double[::1] p, double[::1] q
) noexcept nogil
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
