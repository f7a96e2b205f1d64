cimport cython
from libc.stdint cimport int64_t

cdef Py_ssize_t SPAN, LEAST_RUN
cdef Py_ssize_t EXTREME, BEFORE, ENTRY, RUN, START, COUNT, LONGEST, LISTED
cdef Py_ssize_t TOP, BASE, NEAR_ENTRY, NEAR_RUN, NEAR_START, NEAR_COUNT, NEAR_LONGEST, NEAR_LISTED, LEAST_NEAR_RUN
cdef double LEAST_STEP, NEARLY, LEAST_FALL, LEAST_FALL_BESIDE

cpdef double largest(const double[::1] x)
@cython.locals(tops=double[32], height=double, top=double)
cdef inline double _largest(const double[::1] x) noexcept nogil

cpdef (double, double) lowest_and_highest(const double[::1] x)
@cython.locals(lows=double[32], highs=double[32], value=double, low=double, high=double)
cdef inline (double, double) _lowest_and_highest(const double[::1] x) noexcept nogil

@cython.locals(end=Py_ssize_t, k=Py_ssize_t, c=Py_ssize_t)
cpdef span_extremes(const double[:, ::1] planar, double[:, ::1] lows, double[:, ::1] highs)
@cython.locals(lowest=double, k=Py_ssize_t, c=Py_ssize_t)
cpdef count_above(
    const double[:, ::1] planar, const double[:, ::1] lows, const double[:, ::1] highs, const double[::1] rungs, int64_t[::1] counts
)
@cython.locals(lowest=double, height=double, rung=Py_ssize_t)
cdef void _count_above(const double[::1] row, const double[::1] rungs, int64_t[::1] counts) noexcept nogil

@cython.locals(
    frames=Py_ssize_t, at=Py_ssize_t, k=Py_ssize_t, c=Py_ssize_t, span=Py_ssize_t, end=Py_ssize_t, lowest=double, highest=double
)
cpdef Py_ssize_t outline(
    const double[:, ::1] planar, const double[:, ::1] lows, const double[:, ::1] highs, Py_ssize_t begin, Py_ssize_t first,
    Py_ssize_t width, double[::1] low, double[::1] high
)

cdef Py_ssize_t _list(int64_t[:, ::1] runs, Py_ssize_t listed, int64_t start, int64_t length, int64_t apart) noexcept nogil
cpdef close_run(double step, double[::1] floats, int64_t[::1] wholes, int64_t[:, ::1] runs, int64_t apart)
@cython.locals(cut=bint, length=int64_t)
cdef void _close_run(double step, double[::1] floats, int64_t[::1] wholes, int64_t[:, ::1] runs, int64_t apart) noexcept nogil
cdef void _follow_side(
    const double[::1] x, double sign, int64_t first, double[::1] floats, int64_t[::1] wholes, int64_t[:, ::1] runs, int64_t apart
) noexcept nogil
@cython.locals(length=int64_t, deep=double, shallow=double)
cdef void _close_near_run(double fall, double[::1] floats, int64_t[::1] wholes, int64_t[:, ::1] runs, int64_t apart) noexcept nogil
@cython.locals(before=double, value=double, fall=double)
cdef void _follow_near_side(
    const double[::1] x, double sign, int64_t first, double[::1] floats, int64_t[::1] wholes, int64_t[:, ::1] runs, int64_t apart
) noexcept nogil
@cython.locals(start=Py_ssize_t, end=Py_ssize_t, k=Py_ssize_t, lowest=double, highest=double)
cpdef follow(
    const double[::1] x, const double[::1] lows, const double[::1] highs, int64_t first, double[:, ::1] floats, int64_t[:, ::1] wholes, int64_t[:, :, ::1] runs,
    int64_t[:, :, ::1] near_runs, int64_t apart
)
