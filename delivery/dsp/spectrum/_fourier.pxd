cimport cython
from cython cimport view

@cython.locals(pairs=double[:, ::1])
cpdef transform(
    const double[::view.strided, ::view.contiguous] planar, const double[::1] window, const double[:, ::1] turns, const double[:, :, ::1] between,
    const double[:, ::1] half_turns, double[:, ::1] room,
    double[:, :, ::1] spectra
)
@cython.locals(even=double[8], odd=double[8], i=Py_ssize_t)
cdef void _pack(const double[::1] x, const double[::1] window, double[::1] re, double[::1] im) noexcept nogil
@cython.locals(rows=Py_ssize_t, columns=Py_ssize_t, at=Py_ssize_t, to=Py_ssize_t)
cdef Py_ssize_t _complex(
    double[:, ::1] room, const double[:, ::1] turns, const double[:, ::1] cosines, const double[:, ::1] sines
) noexcept nogil
@cython.locals(re=double[64], im=double[64], rows=Py_ssize_t, columns=Py_ssize_t, at=Py_ssize_t, to=Py_ssize_t, c=double, s=double)
cdef inline void _turn_tile(
    const double[::1] x, const double[::1] y, double[::1] u, double[::1] v, Py_ssize_t row, Py_ssize_t column,
    const double[:, ::1] cosines, const double[:, ::1] sines
) noexcept nogil
@cython.locals(stride=Py_ssize_t, to=Py_ssize_t)
cdef Py_ssize_t _columns(double[:, ::1] room, Py_ssize_t at, Py_ssize_t length, Py_ssize_t width, const double[:, ::1] turns) noexcept nogil
@cython.locals(
    a=double[8], b=double[8], c=double[8], d=double[8], e=double[8], f=double[8], g=double[8], h=double[8],
    every=Py_ssize_t, quarter=Py_ssize_t, apart=Py_ssize_t, at=Py_ssize_t, to=Py_ssize_t,
    c1=double, s1=double, c2=double, s2=double, c3=double, s3=double, re=double, im=double
)
cdef void _fours(
    const double[::1] x, const double[::1] y, double[::1] u, double[::1] v, Py_ssize_t length, Py_ssize_t stride,
    const double[:, ::1] turns
) noexcept nogil
cdef void _twos(const double[::1] x, const double[::1] y, double[::1] u, double[::1] v, Py_ssize_t stride) noexcept nogil
@cython.locals(count=Py_ssize_t, x=double[::1], y=double[::1])
cdef void _unpack(
    double[:, ::1] room, Py_ssize_t at, const double[:, ::1] half_turns, double[::1] re, double[::1] im
) noexcept nogil
@cython.locals(m=Py_ssize_t, a=double, b=double, c=double, d=double, e=double, f=double)
cdef void _unpack_one(
    const double[::1] x, const double[::1] y, Py_ssize_t k, const double[:, ::1] half_turns, double[::1] re, double[::1] im
) noexcept nogil
@cython.locals(
    x0=double[8], y0=double[8], x1=double[8], y1=double[8], a=double[8], b=double[8], c=double, d=double, e=double[8], f=double[8],
    last=Py_ssize_t
)
cdef inline void _unpack_eight(
    const double[::1] x, const double[::1] y, Py_ssize_t at, const double[:, ::1] half_turns, double[::1] re, double[::1] im
) noexcept nogil
