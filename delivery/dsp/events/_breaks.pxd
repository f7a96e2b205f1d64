cimport cython
from libc.stdint cimport int32_t
from libc.math cimport log10

cdef Py_ssize_t DIP_AFTER, DIP_BEFORE, DIP_BEGINS, DIP_CHANGE, DIP_DEPTH, DIP_EARLIER, DIP_ENDS, DIP_FALLS, DIP_LATER, DIP_RISES, DIP_SLOPE
cdef Py_ssize_t LONGEST_DIP, AT_ONCE, EDGE, NEAR, FAR, NOW, LEAD
cdef double LEAST, FALL, BACK_UP, STILL_UP, LOUD, LEAST_DEPTH_DB, STEPS, MOST_STEPS

@cython.locals(power=double, move=double, first=Py_ssize_t, last=Py_ssize_t, k=Py_ssize_t)
cpdef milliseconds(const double[::1] x, Py_ssize_t block, double[::1] powers, double[::1] moves, int32_t[::1] steps)
cdef inline void _in_steps(const double[::1] x, Py_ssize_t begin, Py_ssize_t count, int32_t[::1] steps) noexcept nogil
@cython.locals(a=double[8], b=double[8], whole=Py_ssize_t, i=Py_ssize_t)
cdef inline (double, double) _squares(const double[::1] x, Py_ssize_t begin, Py_ssize_t count) noexcept nogil
@cython.locals(total=double)
cdef inline double _mean(const double[::1] x, Py_ssize_t begin, Py_ssize_t end) noexcept nogil
cdef double _db(double power) noexcept nogil
@cython.locals(count=Py_ssize_t, k=Py_ssize_t, back=Py_ssize_t, usual=double)
cpdef Py_ssize_t dips(const double[::1] powers, const double[::1] moves, Py_ssize_t begin, Py_ssize_t end, double[:, ::1] found)
@cython.locals(earlier=double)
cdef inline bint _falls(const double[::1] moves, Py_ssize_t k, double usual) noexcept nogil
@cython.locals(
    begins=Py_ssize_t, ends=Py_ssize_t, quarter=Py_ssize_t, first=Py_ssize_t, last=Py_ssize_t, third=Py_ssize_t, behind=Py_ssize_t,
    before=double, after=double
)
cdef bint _described(
    const double[::1] powers, const double[::1] moves, Py_ssize_t k, Py_ssize_t back, double usual, double[::1] row
) noexcept nogil
