cimport cython
from libc.stdint cimport uint64_t

cdef extern from *:
    ctypedef unsigned long long product_t "unsigned __int128"

@cython.locals(state=uint64_t[6])
cpdef fill(uint64_t key, uint64_t other_key, uint64_t count, uint64_t[::1] out)
@cython.locals(mask=uint64_t, factor=uint64_t, other_factor=uint64_t, step=uint64_t, other_step=uint64_t, first=product_t, second=product_t)
cdef inline void _round(uint64_t* state) noexcept nogil
