cimport cython
from libc.stdint cimport int64_t

cdef Py_ssize_t NEAR, PLACES, CELLS_A_SECOND, MIDDLE, QUARTER, STRETCH, FEW, SPAN, LEAST_RUN
cdef Py_ssize_t HEIGHT, AT, CHANNEL, EXTREME, BEFORE, ENTRY, RUN, START, COUNT, LONGEST, LISTED
cdef Py_ssize_t TOP, BASE, NEAR_ENTRY, NEAR_RUN, NEAR_START, NEAR_COUNT, NEAR_LONGEST, NEAR_LISTED, LEAST_NEAR_RUN
cdef double FLOOR, SINGLE_ERROR, LEAST_STEP, NEARLY, LEAST_FALL, LEAST_FALL_BESIDE

cpdef double largest(const double[::1] x)
@cython.locals(tops=double[32], height=double, top=double)
cdef inline double _largest(const double[::1] x) noexcept nogil

cpdef double largest_single(const float[::1] x)
@cython.locals(tops=float[32], height=float)
cdef inline double _largest_single(const float[::1] x, Py_ssize_t begin, Py_ssize_t end) noexcept nogil
@cython.locals(left=float, right=float)
cdef inline double _top(float* tops) noexcept nogil

cpdef (double, double) lowest_and_highest(const double[::1] x)
@cython.locals(lows=double[32], highs=double[32], value=double, low=double, high=double)
cdef inline (double, double) _lowest_and_highest(const double[::1] x) noexcept nogil

cpdef widen(const double[:, ::1] planar, double[::1] peaks)
cpdef count_above(const double[:, ::1] planar, const double[::1] rungs, int64_t[::1] counts)
@cython.locals(lowest=double, height=double, rung=Py_ssize_t)
cdef void _count_above(const double[::1] row, const double[::1] rungs, int64_t[::1] counts) noexcept nogil

@cython.locals(frames=Py_ssize_t, at=Py_ssize_t, k=Py_ssize_t, end=Py_ssize_t, lowest=double, highest=double)
cpdef Py_ssize_t outline(const double[:, ::1] planar, Py_ssize_t first, Py_ssize_t width, double[::1] low, double[::1] high)

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
@cython.locals(start=Py_ssize_t, end=Py_ssize_t, lowest=double, highest=double)
cpdef follow(
    const double[::1] x, int64_t first, double[:, ::1] floats, int64_t[:, ::1] wholes, int64_t[:, :, ::1] runs,
    int64_t[:, :, ::1] near_runs, int64_t apart
)

@cython.locals(sums=double[8])
cpdef double between(const double[::1] x, Py_ssize_t at, const double[::1] row) noexcept nogil
@cython.locals(tops=float[32], value=float, height=float, last=Py_ssize_t)
cdef inline double _narrow(const double[::1] x, Py_ssize_t at, Py_ssize_t count, float[::1] single) noexcept nogil
@cython.locals(
    v0=float, v1=float, v2=float, v3=float, v4=float, v5=float, w0=float, w1=float, w2=float, w3=float, w4=float, w5=float
)
cdef inline void _middles(const float[::1] x, Py_ssize_t at, const float[::1] row, Py_ssize_t few, float[::1] middle) noexcept nogil
cdef inline void _second_differences(const float[::1] x, Py_ssize_t count, float[::1] bends) noexcept nogil
@cython.locals(low=float, high=float, side=float, centre=float)
cdef inline void _ends(const float[::1] x, Py_ssize_t at, const float[::1] middle, Py_ssize_t few, float[::1] ends) noexcept nogil
@cython.locals(
    best=double, place=Py_ssize_t, low=double, high=double, left=double, right=double, value=double, one=double, other=double,
    height=double, base=Py_ssize_t, start=Py_ssize_t
)
cdef (double, Py_ssize_t) _closely(
    const double[::1] x, Py_ssize_t at, const double[:, ::1] rows, double centre, double sought, double half, double quarter, double error
) noexcept nogil
@cython.locals(
    bend=double, error=double, best=double, place=Py_ssize_t, bent=double, most=double, near=double, rise=double, fall=double,
    height=double, p=Py_ssize_t, start=Py_ssize_t, few=Py_ssize_t, begin=Py_ssize_t, taps=Py_ssize_t, lead=Py_ssize_t, held=Py_ssize_t
)
cdef (double, Py_ssize_t) _highest(
    const double[::1] x, Py_ssize_t at, Py_ssize_t count, double top, const double[:, ::1] rows, const float[::1] half_way,
    const double[:, ::1] bounds, double sought, float[:, ::1] room
) noexcept nogil
@cython.locals(
    centre=Py_ssize_t, middle=double, sign=double, first=double, left=double, right=double, step=Py_ssize_t, beyond=double,
    bend=double, summit=double
)
cdef double _summit(const double[::1] x, Py_ssize_t at, Py_ssize_t place, const double[:, ::1] rows) noexcept nogil
@cython.locals(at=int64_t)
cpdef look_again(
    const double[:, ::1] x, int64_t origin, double[:, :] found, const int64_t[::1] channels, const double[:, ::1] rows
)
@cython.locals(room=float[:, ::1], half_way=float[::1])
cpdef scan(
    const double[:, ::1] x, Py_ssize_t begin, int64_t first, int64_t cell, const int64_t[::1] ends, const double[:, ::1] rows,
    const double[:, ::1] bounds, double[::1] sample_peaks, double[:, ::1] peaks, double[::1] second, double[:, ::1] cells
)
@cython.locals(
    taps=Py_ssize_t, start=Py_ssize_t, at=Py_ssize_t, count=Py_ssize_t, top=double, sought=double, height=double, place=Py_ssize_t,
    where=double
)
cdef void _scan(
    const double[:, ::1] x, Py_ssize_t begin, int64_t first, int64_t cell, const int64_t[::1] ends, const double[:, ::1] rows,
    const double[:, ::1] bounds, double[::1] sample_peaks, double[:, ::1] peaks, double[::1] second, double[:, ::1] cells,
    float[:, ::1] room, const float[::1] half_way
) noexcept nogil
