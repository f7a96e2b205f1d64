cimport cython

cdef Py_ssize_t BINS_A_BAND, INFRASONIC_BINS, HALVED

@cython.locals(room=float[:, ::1])
cpdef binomial(
    const double[:, ::1] planar, Py_ssize_t begin, Py_ssize_t every, float[:, ::1] out, Py_ssize_t first, Py_ssize_t end
)
@cython.locals(at=Py_ssize_t, few=Py_ssize_t, start=Py_ssize_t, count=Py_ssize_t, width=Py_ssize_t, scale=float)
cdef void _binomial(
    const double[::1] x, Py_ssize_t begin, Py_ssize_t every, float[::1] out, Py_ssize_t first, Py_ssize_t end, float[::1] even,
    float[::1] odd, float[::1] kept
) noexcept nogil
@cython.locals(four=float, six=float)
cdef void _weighted(const float[::1] even, const float[::1] odd, Py_ssize_t count, float[::1] kept) noexcept nogil
@cython.locals(pairs=double[:, ::1])
cpdef bint add_power(spectra, double least, double[::1] power, double[::1] total, double[::1] bands)
cdef bint _add_power(double[:, ::1] pairs, double least, double[::1] power, double[::1] total, double[::1] bands) noexcept nogil
@cython.locals(pairs=double[:, :, ::1])
cpdef powers_and_products(spectra, const double[::1] gain, double[:, ::1] powers, double[:, ::1] products)
@cython.locals(used=Py_ssize_t)
cdef void _power_and_product(double[:, ::1] pairs, const double[::1] gain, double[::1] power, double[::1] product) noexcept nogil
@cython.locals(lanes=double[8])
cdef inline double _sum(const double[::1] x, Py_ssize_t begin, Py_ssize_t end) noexcept nogil
@cython.locals(found=double[:, ::1], rows=double[:, ::1], low=double, high=double)
cpdef band_sums(powers, const double[:, :] edges, double bin_hz)
@cython.locals(top=Py_ssize_t, first=Py_ssize_t, last=Py_ssize_t)
cdef double _between(const double[::1] power, double low, double high) noexcept nogil
