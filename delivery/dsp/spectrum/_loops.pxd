cimport cython

cdef Py_ssize_t BINS_A_BAND, INFRASONIC_BINS, HALVED

cpdef filtered(
    const double[:, ::1] planar, Py_ssize_t begin, const double[::1] taps, Py_ssize_t every, double[:, ::1] out, Py_ssize_t first,
    Py_ssize_t end
)
cdef void _filtered(
    const double[::1] x, Py_ssize_t begin, const double[::1] taps, Py_ssize_t every, double[::1] out, Py_ssize_t first,
    Py_ssize_t end
) noexcept nogil
@cython.locals(lanes=double[8])
cdef inline double _product(const double[::1] x, Py_ssize_t at, const double[::1] taps) noexcept nogil
@cython.locals(room=double[:, ::1])
cpdef binomial(
    const double[:, ::1] planar, Py_ssize_t begin, Py_ssize_t every, double[:, ::1] out, Py_ssize_t first, Py_ssize_t end
)
@cython.locals(
    at=Py_ssize_t, few=Py_ssize_t, count=Py_ssize_t, width=Py_ssize_t, scale=double, ends=double, near=double, wide=double,
    middle=double
)
cdef void _binomial(
    const double[::1] x, Py_ssize_t begin, Py_ssize_t every, double[::1] out, Py_ssize_t first, Py_ssize_t end, double[::1] even,
    double[::1] odd, double[::1] kept
) noexcept nogil
cdef void _split(const double[::1] x, Py_ssize_t at, Py_ssize_t count, double[::1] even, double[::1] odd) noexcept nogil
@cython.locals(pairs=double[:, ::1])
cpdef bint add_power(spectra, double least, double[::1] power, double[::1] total, double[::1] bands)
cdef bint _add_power(double[:, ::1] pairs, double least, double[::1] power, double[::1] total, double[::1] bands) noexcept nogil
@cython.locals(lanes=double[8])
cdef inline double _sum(const double[::1] x, Py_ssize_t begin, Py_ssize_t end) noexcept nogil
@cython.locals(found=double[:, ::1], rows=double[:, ::1], low=double, high=double)
cpdef band_sums(powers, const double[:, :] edges, double bin_hz)
@cython.locals(top=Py_ssize_t, first=Py_ssize_t, last=Py_ssize_t)
cdef double _between(const double[::1] power, double low, double high) noexcept nogil
