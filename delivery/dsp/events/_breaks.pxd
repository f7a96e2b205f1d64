cimport cython
from libc.math cimport floor, log10
from libc.stdint cimport int64_t

cdef Py_ssize_t AGAIN, AGAIN_AT, AGAIN_FRAMES, AGAIN_LAG, AGAIN_SEAM, DIP_AFTER, DIP_BEFORE, DIP_BEGINS, DIP_CHANGE, DIP_DEPTH, DIP_EARLIER
cdef Py_ssize_t DIP_ENDS, DIP_FALLS, DIP_LATER, DIP_RISES, DIP_SLOPE, LONGEST_DIP, LONGEST_LAG, SLOTS, SUMMITS
cdef Py_ssize_t EDGE, NEAR, FAR, NOW, LEAD, SHORTEST_LAG, OUTSIDE, STRIDE, SHORTEST_HOLD, BESIDE, PEAK_BESIDE
cdef double LEAST, FALL, BACK_UP, STILL_UP, LOUD, LEAST_DEPTH_DB, SAME, CELL, LEAST_RANGE, LEAST_SEAM

cpdef milliseconds(const double[::1] x, Py_ssize_t block, double[::1] powers, double[::1] moves)
@cython.locals(lanes=double[8])
cdef double _square(const double[::1] x, Py_ssize_t begin, Py_ssize_t count) noexcept nogil
@cython.locals(lanes=double[8])
cdef double _moves(const double[::1] x, Py_ssize_t begin, Py_ssize_t count) noexcept nogil
@cython.locals(total=double)
cdef double _mean(const double[::1] x, Py_ssize_t begin, Py_ssize_t end) noexcept nogil
cdef double _db(double power) noexcept nogil
@cython.locals(count=Py_ssize_t, k=Py_ssize_t, back=Py_ssize_t, usual=double)
cpdef Py_ssize_t dips(const double[::1] powers, const double[::1] moves, Py_ssize_t begin, Py_ssize_t end, double[:, ::1] found)
@cython.locals(earlier=double)
cdef bint _falls(const double[::1] moves, Py_ssize_t k, double usual) noexcept nogil
@cython.locals(
    begins=Py_ssize_t, ends=Py_ssize_t, quarter=Py_ssize_t, first=Py_ssize_t, last=Py_ssize_t, third=Py_ssize_t, behind=Py_ssize_t,
    before=double, after=double
)
cdef bint _described(
    const double[::1] powers, const double[::1] moves, Py_ssize_t k, Py_ssize_t back, double usual, double[::1] row
) noexcept nogil
@cython.locals(
    count=Py_ssize_t, behind=Py_ssize_t, slot=int64_t, lag=Py_ssize_t, after=Py_ssize_t, before=Py_ssize_t, first=Py_ssize_t,
    i=Py_ssize_t, k=Py_ssize_t, summits=int64_t[::1]
)
cpdef Py_ssize_t repeats(
    const double[::1] x, Py_ssize_t begin, Py_ssize_t end, int64_t frame, int64_t[::1] slots, double[:, ::1] found
)
@cython.locals(count=Py_ssize_t, i=Py_ssize_t)
cdef Py_ssize_t _summits(const double[::1] x, Py_ssize_t begin, Py_ssize_t end, int64_t[::1] summits) noexcept nogil
@cython.locals(a=int64_t, b=int64_t, c=int64_t)
cdef int64_t _slot(double before, double at, double after) noexcept nogil
@cython.locals(count=Py_ssize_t)
cdef Py_ssize_t _same(const double[::1] x, Py_ssize_t i, Py_ssize_t lag, Py_ssize_t step) noexcept nogil
@cython.locals(length=Py_ssize_t, low=double, high=double, first=double, last=double)
cdef bint _is_repeat(const double[::1] x, Py_ssize_t begin, Py_ssize_t end, Py_ssize_t lag, double[::1] row) noexcept nogil
@cython.locals(count=Py_ssize_t, behind=Py_ssize_t, i=Py_ssize_t, first=Py_ssize_t, last=Py_ssize_t)
cpdef Py_ssize_t holds(const double[::1] x, Py_ssize_t begin, Py_ssize_t end, int64_t frame, double[:, ::1] found)
@cython.locals(length=Py_ssize_t, value=double, before=double, after=double, peak=double)
cdef bint _is_hold(const double[::1] x, Py_ssize_t begin, Py_ssize_t end, double[::1] row) noexcept nogil
