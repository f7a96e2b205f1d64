cimport cython
from libc.stdint cimport int32_t, int64_t, uint16_t

cdef Py_ssize_t AGAIN_AT, AGAIN_FRAMES, AGAIN_LAG, AGAIN_SEAM, LONGEST_LAG, SLOTS, TOGETHER, SHORTEST_LAG, OUTSIDE, STRIDE, SHORTEST_HOLD
cdef Py_ssize_t BESIDE, PEAK_BESIDE
cdef int32_t CELL_BITS, BY_ITSELF, BY_LAST, BY_NEXT, INDEX_BITS
cdef double SAME, LEAST_RANGE, LEAST_SEAM

@cython.locals(room=int32_t[:, ::1])
cpdef Py_ssize_t repeats(
    const int32_t[::1] x, Py_ssize_t begin, Py_ssize_t end, int64_t frame, uint16_t[::1] slots, double[:, ::1] found
)
@cython.locals(
    places=int32_t[::1], flags=int32_t[::1], maxima=int32_t[::1], lags=int32_t[::1], count=Py_ssize_t, behind=Py_ssize_t,
    lag=Py_ssize_t, after=Py_ssize_t, before=Py_ssize_t, first=Py_ssize_t, few=Py_ssize_t, i=Py_ssize_t, k=Py_ssize_t, same=bint
)
cdef Py_ssize_t _repeats(
    const int32_t[::1] x, Py_ssize_t begin, Py_ssize_t end, int64_t frame, uint16_t[::1] slots, double[:, ::1] found, int32_t[:, ::1] room
) noexcept nogil
@cython.locals(
    itself=int32_t, by_last=int32_t, by_next=int32_t, cell=int32_t, last=int32_t, index=int32_t, pairs=int32_t, a=int32_t, b=int32_t,
    c=int32_t, d=int32_t, late=int32_t, before=int32_t, now=int32_t, after=int32_t, mixed=int32_t, written=Py_ssize_t, k=int32_t
)
cdef inline Py_ssize_t _local_maxima(
    const int32_t[::1] x, Py_ssize_t first, Py_ssize_t count, int32_t[::1] places, int32_t[::1] flags, int32_t[::1] maxima
) noexcept nogil
@cython.locals(
    count=Py_ssize_t, index_bits=int32_t, shortest=int32_t, reach=int32_t, place=int32_t, index=int32_t, stamp=uint16_t, lag=int32_t,
    k=Py_ssize_t
)
cdef inline Py_ssize_t _looked_up(
    int32_t[::1] maxima, Py_ssize_t few, int64_t first, uint16_t[::1] slots, int32_t[::1] lags
) noexcept nogil
@cython.locals(difference=double)
cdef inline double _apart(const int32_t[::1] x, Py_ssize_t i, Py_ssize_t j) noexcept nogil
@cython.locals(value=double)
cdef inline double _height(const int32_t[::1] x, Py_ssize_t i) noexcept nogil
@cython.locals(count=Py_ssize_t)
cdef inline Py_ssize_t _same(const int32_t[::1] x, Py_ssize_t i, Py_ssize_t lag, Py_ssize_t step) noexcept nogil
@cython.locals(length=Py_ssize_t, low=double, high=double, first=double, last=double)
cdef bint _is_repeat(const int32_t[::1] x, Py_ssize_t begin, Py_ssize_t end, Py_ssize_t lag, double[::1] row) noexcept nogil
@cython.locals(count=Py_ssize_t, behind=Py_ssize_t, i=Py_ssize_t, first=Py_ssize_t, last=Py_ssize_t)
cpdef Py_ssize_t holds(const int32_t[::1] x, Py_ssize_t begin, Py_ssize_t end, int64_t frame, double[:, ::1] found)
@cython.locals(length=Py_ssize_t, value=double, before=double, after=double, peak=double)
cdef bint _is_hold(const int32_t[::1] x, Py_ssize_t begin, Py_ssize_t end, double[::1] row) noexcept nogil
