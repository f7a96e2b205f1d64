cimport cython
from libc.math cimport rint
from libc.stdint cimport int32_t, int64_t, uint64_t

cdef double _UNIT
cdef uint64_t _LOW

@cython.locals(high=int64_t, low=int64_t)
cdef double noise_of(uint64_t draw, double first, double second) noexcept nogil
@cython.locals(steps=double, unit=int64_t, whole=int64_t, rounded=double)
cpdef round_flat(const double[:] x, const uint64_t[::1] draws, double first, double second, int bits, int32_t[:] out)
@cython.locals(steps=double, unit=int64_t, whole=int64_t, rounded=double, ideal=double, order=Py_ssize_t)
cpdef round_shaped(
    const double[:] x, const uint64_t[::1] draws, double first, double second, const double[::1] taps, double[::1] past, int bits,
    int32_t[:] out
)
