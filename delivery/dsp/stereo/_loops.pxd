cimport cython
from libc.stdint cimport int64_t

cdef Py_ssize_t LEFT, RIGHT, SUM, DIFFERENCE, REAL, IMAGINARY
cdef double STILL

@cython.locals(pairs=double[:, ::1], a=double, b=double, c=double, d=double)
cpdef add_cross(spectra, double[:, ::1] sums)
@cython.locals(at=Py_ssize_t, end=Py_ssize_t)
cpdef pair_sums(const double[::1] left, const double[::1] right, const int64_t[::1] ends, double[::1] open_sums, double[:, ::1] sums)
@cython.locals(a=double[16], b=double[16], c=double[16], d=double[16], x=double, y=double)
cdef void _add_squares(
    const double[::1] left, const double[::1] right, Py_ssize_t at, Py_ssize_t end, double[::1] total
) noexcept nogil
@cython.locals(four=double, six=double)
cpdef numerator(const float[::1] x, double[::1] y)
@cython.locals(at=Py_ssize_t)
cpdef low_sums(const double[::1] left, const double[::1] right, const int64_t[::1] ends, double[:, ::1] m, double[:, :, ::1] sums)
@cython.locals(power=double, a=double, b=double, product=double)
cdef void _end_step(double[:, ::1] m, double[:, ::1] sums) noexcept nogil
@cython.locals(
    a1=double[8], a2=double[8], c1=double[8], c2=double[8], u1=double[8], u2=double[8], s1=double[8], s2=double[8],
    v1=double[8], v2=double[8], t1=double[8], t2=double[8], lefts=double[8], rights=double[8], products=double[8],
    x0=double, x1=double, x2=double, x3=double, y0=double, y1=double, y2=double, y3=double,
    p=double, p1=double, p2=double, p3=double, q=double, q1=double, q2=double, q3=double
)
cdef void _through(const double[::1] left, const double[::1] right, Py_ssize_t begin, Py_ssize_t end, double[:, ::1] m) noexcept nogil
