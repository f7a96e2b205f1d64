cimport cython
from libc.stdint cimport int64_t

cdef Py_ssize_t NEAR, PLACES, CELLS_A_SECOND, MIDDLE, QUARTER, STRETCH, FEW
cdef Py_ssize_t HEIGHT, AT, CHANNEL
cdef double FLOOR, SINGLE_ERROR

cpdef double largest_single(const float[::1] x)
@cython.locals(tops=float[32], height=float)
cdef inline double _largest_single(const float[::1] x, Py_ssize_t begin, Py_ssize_t end) noexcept nogil
@cython.locals(left=float, right=float)
cdef inline double _top(float* tops) noexcept nogil

@cython.locals(sums=double[8])
cpdef double between(const double[::1] x, Py_ssize_t at, const double[::1] row) noexcept nogil
@cython.locals(tops=float[32], value=float, height=float, last=Py_ssize_t)
cdef inline double _narrow(const double[::1] x, Py_ssize_t at, Py_ssize_t count, float[::1] single) noexcept nogil
@cython.locals(
    v0=float, v1=float, v2=float, v3=float, v4=float, v5=float, w0=float, w1=float, w2=float, w3=float, w4=float, w5=float,
    sums=float[16]
)
cdef inline void _middles(const float[::1] x, Py_ssize_t at, const float[::1] row, float[::1] middle) noexcept nogil
cdef inline void _second_differences(const float[::1] x, Py_ssize_t count, float[::1] bends) noexcept nogil
cdef inline void _largest_of_eight(const float[::1] x, Py_ssize_t count, float[::1] twos, float[::1] eights) noexcept nogil
@cython.locals(low=float, high=float)
cdef inline void _limits(
    const float[::1] x, Py_ssize_t at, Py_ssize_t count, const float[::1] near, float share, float[::1] limits
) noexcept nogil
@cython.locals(low=float, high=float, centre=float, side=float)
cdef inline void _tighten(
    const float[::1] x, Py_ssize_t at, const float[::1] middle, const float[::1] near, Py_ssize_t start, float share, float[::1] limits
) noexcept nogil
@cython.locals(above=int)
cdef inline int _above(const float[::1] x, Py_ssize_t at, float level) noexcept nogil
@cython.locals(
    best=double, place=Py_ssize_t, low=double, high=double, left=double, right=double, value=double, one=double, other=double,
    height=double, base=Py_ssize_t, start=Py_ssize_t
)
cdef (double, Py_ssize_t) _closely(
    const double[::1] x, Py_ssize_t at, const double[:, ::1] rows, double centre, double sought, double half, double quarter, double error
) noexcept nogil
@cython.locals(
    bend=double, error=double, best=double, place=Py_ssize_t, rise=double, fall=double, bent=double, height=double, p=Py_ssize_t, few=Py_ssize_t, taps=Py_ssize_t, lead=Py_ssize_t, held=Py_ssize_t
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
    const double[:, ::1] bounds, double[:, ::1] peaks, double[::1] second, double[:, ::1] cells
)
@cython.locals(
    taps=Py_ssize_t, start=Py_ssize_t, at=Py_ssize_t, count=Py_ssize_t, top=double, sought=double, height=double, place=Py_ssize_t,
    where=double
)
cdef void _scan(
    const double[:, ::1] x, Py_ssize_t begin, int64_t first, int64_t cell, const int64_t[::1] ends, const double[:, ::1] rows,
    const double[:, ::1] bounds, double[:, ::1] peaks, double[::1] second, double[:, ::1] cells,
    float[:, ::1] room, const float[::1] half_way
) noexcept nogil
