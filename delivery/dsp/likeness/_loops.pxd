cimport cython

cdef Py_ssize_t BLOCK, TAPS

@cython.locals(frames=Py_ssize_t, at=Py_ssize_t)
cpdef thinned(const double[::1] x, Py_ssize_t begin, const float[::1] taps, Py_ssize_t every, double[::1] out)
@cython.locals(
    held=float[320], sums=float[256], own=Py_ssize_t, a=float, b=float, c=float, d=float, e=float, f=float, g=float, h=float, one=float,
    other=float
)
cdef void _thinned(
    const double[::1] x, Py_ssize_t begin, const float[::1] taps, Py_ssize_t every, double[::1] out, Py_ssize_t at, Py_ssize_t count
) noexcept nogil
@cython.locals(rows=Py_ssize_t, place=double, whole=Py_ssize_t, row=double, first=Py_ssize_t, share=double, begin=Py_ssize_t)
cpdef followed(const double[:, ::1] planar, double start, double step, const double[:, ::1] table, double[:, ::1] out)
@cython.locals(lanes=double[8])
cdef double _product(const double[::1] x, Py_ssize_t at, const double[::1] taps) noexcept nogil
@cython.locals(own=double, left=double, gain=double)
cpdef (double, double) subtracted(const double[:, ::1] mine, const double[:, ::1] theirs, const double[::1] gains, double[:, ::1] rest)
@cython.locals(lanes=double[8], whole=Py_ssize_t)
cdef double _square(const double[::1] x) noexcept nogil
