cimport cython
from libc.stdint cimport int32_t, uint8_t

cdef double SCALE, PER_SCALE

cpdef in_words(const int32_t[::1] words, double[:, ::1] planar)
cpdef widened(const int32_t[::1] words, int32_t[::1] integers)
@cython.locals(first=int32_t, second=int32_t, third=int32_t)
cdef void _widen(const int32_t[::1] words, int32_t[::1] integers) noexcept nogil
cpdef narrowed(const int32_t[::1] integers, int32_t[::1] words)
@cython.locals(a=int32_t, b=int32_t, c=int32_t, d=int32_t)
cdef void _narrow(const int32_t[::1] integers, int32_t[::1] words) noexcept nogil
cpdef in_bytes(const uint8_t[::1] raw, double[:, ::1] planar, Py_ssize_t begin)
@cython.locals(first=int32_t, second=int32_t, third=int32_t, a=int32_t, b=int32_t, c=int32_t, d=int32_t)
cdef void _two_of_24_bits(const int32_t[::1] words, double[::1] left, double[::1] right) noexcept nogil
@cython.locals(at=Py_ssize_t, low=int32_t, middle=int32_t, high=int32_t)
cdef void _one_of_24_bits(const uint8_t[::1] raw, Py_ssize_t c, Py_ssize_t channels, double[::1] row, Py_ssize_t begin) noexcept nogil
cpdef left_justified(const double[:, ::1] planar, int32_t[:, ::1] integers)
@cython.locals(one=int32_t, other=int32_t)
cdef void _justify_two(const double[::1] left, const double[::1] right, int32_t[:, ::1] integers) noexcept nogil
@cython.locals(whole=int32_t)
cdef void _justify(const double[::1] row, Py_ssize_t c, int32_t[:, ::1] integers) noexcept nogil
