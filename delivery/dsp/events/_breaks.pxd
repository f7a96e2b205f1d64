cimport cython
from libc.math cimport floor, log10
from libc.stdint cimport int64_t

cdef Py_ssize_t AGAIN, AGAIN_AT, AGAIN_FRAMES, AGAIN_LAG, AGAIN_SEAM, DIP_AFTER, DIP_BEFORE, DIP_BEGINS, DIP_CHANGE, DIP_DEPTH, DIP_EARLIER
cdef Py_ssize_t DIP_ENDS, DIP_FALLS, DIP_LATER, DIP_RISES, DIP_SLOPE, LONGEST_DIP, LONGEST_LAG, SLOTS, SUMMITS
cdef Py_ssize_t EDGE, NEAR, FAR, NOW, LEAD, SHORTEST_LAG, OUTSIDE, STRIDE, SHORTEST_HOLD, BESIDE, PEAK_BESIDE
cdef double LEAST, FALL, BACK_UP, STILL_UP, LOUD, LEAST_DEPTH_DB, SAME, CELL, BY_ITSELF, BY_LAST, BY_NEXT, LEAST_RANGE, LEAST_SEAM

@cython.locals(power=double, move=double)
cpdef milliseconds(const double[::1] x, Py_ssize_t block, double[::1] powers, double[::1] moves)
@cython.locals(a=double[8], b=double[8])
cdef inline (double, double) _squares(const double[::1] x, Py_ssize_t begin, Py_ssize_t count) noexcept nogil
@cython.locals(total=double)
cdef inline double _mean(const double[::1] x, Py_ssize_t begin, Py_ssize_t end) noexcept nogil
cdef double _db(double power) noexcept nogil
@cython.locals(count=Py_ssize_t, k=Py_ssize_t, back=Py_ssize_t, usual=double)
cpdef Py_ssize_t dips(const double[::1] powers, const double[::1] moves, Py_ssize_t begin, Py_ssize_t end, double[:, ::1] found)
@cython.locals(earlier=double)
cdef inline bint _falls(const double[::1] moves, Py_ssize_t k, double usual) noexcept nogil
@cython.locals(
    begins=Py_ssize_t, ends=Py_ssize_t, quarter=Py_ssize_t, first=Py_ssize_t, last=Py_ssize_t, third=Py_ssize_t, behind=Py_ssize_t,
    before=double, after=double
)
cdef bint _described(
    const double[::1] powers, const double[::1] moves, Py_ssize_t k, Py_ssize_t back, double usual, double[::1] row
) noexcept nogil
@cython.locals(cells=double[::1], room=int64_t[:, ::1])
cpdef Py_ssize_t repeats(
    const double[::1] x, Py_ssize_t begin, Py_ssize_t end, int64_t frame, int64_t[::1] slots, double[:, ::1] found
)
@cython.locals(
    summits=int64_t[::1], places=int64_t[::1], lags=int64_t[::1], count=Py_ssize_t, behind=Py_ssize_t, lag=Py_ssize_t,
    after=Py_ssize_t, before=Py_ssize_t, first=Py_ssize_t, few=Py_ssize_t, i=Py_ssize_t, k=Py_ssize_t
)
cdef Py_ssize_t _repeats(
    const double[::1] x, Py_ssize_t begin, Py_ssize_t end, int64_t frame, int64_t[::1] slots, double[:, ::1] found,
    double[::1] cells, int64_t[:, ::1] room
) noexcept nogil
@cython.locals(count=Py_ssize_t, i=Py_ssize_t, lag=int64_t, place=int64_t, near=int64_t, earlier=Py_ssize_t)
cdef inline Py_ssize_t _seen_before(
    const double[::1] x, Py_ssize_t first, Py_ssize_t few, int64_t frame, int64_t[::1] slots, int64_t[::1] summits, int64_t[::1] places,
    int64_t[::1] lags
) noexcept nogil
@cython.locals(last=int64_t, mixed=int64_t, count=Py_ssize_t, i=Py_ssize_t, k=Py_ssize_t)
cdef inline Py_ssize_t _summits(
    const double[::1] x, Py_ssize_t begin, Py_ssize_t end, double[::1] cells, int64_t[::1] summits, int64_t[::1] places,
    int64_t[::1] flags
) noexcept nogil
@cython.locals(count=Py_ssize_t)
cdef inline Py_ssize_t _same(const double[::1] x, Py_ssize_t i, Py_ssize_t lag, Py_ssize_t step) noexcept nogil
@cython.locals(length=Py_ssize_t, low=double, high=double, first=double, last=double)
cdef bint _is_repeat(const double[::1] x, Py_ssize_t begin, Py_ssize_t end, Py_ssize_t lag, double[::1] row) noexcept nogil
@cython.locals(count=Py_ssize_t, behind=Py_ssize_t, i=Py_ssize_t, first=Py_ssize_t, last=Py_ssize_t)
cpdef Py_ssize_t holds(const double[::1] x, Py_ssize_t begin, Py_ssize_t end, int64_t frame, double[:, ::1] found)
@cython.locals(length=Py_ssize_t, value=double, before=double, after=double, peak=double)
cdef bint _is_hold(const double[::1] x, Py_ssize_t begin, Py_ssize_t end, double[::1] row) noexcept nogil
