cimport cython
from libc.math cimport rint
from libc.stdint cimport int32_t, int64_t, uint64_t

cdef extern from *:
    ctypedef unsigned long long uint128_t "unsigned __int128"

cdef double _UNIT
cdef uint64_t _LOW, _MASK, _FIRST, _SECOND, _FIRST_STEP, _SECOND_STEP

@cython.locals(
    a=uint64_t[2], b=uint64_t[2], c=uint64_t[2], d=uint64_t[2], at=Py_ssize_t, group=Py_ssize_t, lane=Py_ssize_t,one_key=uint64_t, other_key=uint64_t, one=uint128_t, other=uint128_t,
    first=uint64_t, second=uint64_t, first_step=uint64_t, second_step=uint64_t, mask=uint64_t
)
cpdef philox(uint64_t low, uint64_t high, uint64_t count, uint64_t[::1] out)
@cython.locals(high=int64_t, low=int64_t)
cdef double noise_of(uint64_t draw, double first, double second) noexcept nogil
@cython.locals(steps=double, unit=int64_t, whole=int64_t, rounded=double)
cpdef round_flat(const double[:] x, const uint64_t[::1] draws, double first, double second, int bits, int32_t[:] out)
@cython.locals(steps=double, unit=int64_t, whole=int64_t, rounded=double, ideal=double, order=Py_ssize_t)
cpdef round_shaped(
    const double[:] x, const uint64_t[::1] draws, double first, double second, const double[::1] taps, double[::1] past, int bits,
    int32_t[:] out
)
