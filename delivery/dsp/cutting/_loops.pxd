cimport cython

cdef Py_ssize_t HISTORY, ROWS

@cython.locals(room=float[:, ::1], width=Py_ssize_t, cell=Py_ssize_t, row=Py_ssize_t, i=Py_ssize_t)
cpdef estimate(
    const double[::1] first, const double[::1] second, double sign, Py_ssize_t thinning, const float[::1] weights, double[:, ::1] peaks
)
@cython.locals(total=double, count=Py_ssize_t, i=Py_ssize_t, k=Py_ssize_t)
cdef void _thin(
    const double[::1] first, const double[::1] second, double sign, Py_ssize_t thinning, Py_ssize_t at, float[::1] thinned
) noexcept nogil
@cython.locals(i=Py_ssize_t)
cdef void _add_before(const float[::1] x, float weight, Py_ssize_t lag, float[::1] y) noexcept nogil
@cython.locals(state=float[8], i=Py_ssize_t, k=Py_ssize_t)
cdef void _low_pass(const float[::1] x, float weight, float[::1] y) noexcept nogil
@cython.locals(less=float, own=float, near=float, far=float, i=Py_ssize_t)
cdef void _velocity(const float[::1] x, const float[::1] low, const float[::1] weights, float[::1] velocity) noexcept nogil
@cython.locals(near=float, far=float, i=Py_ssize_t)
cdef void _acceleration(const float[::1] velocity, const float[::1] weights, float[::1] acceleration) noexcept nogil
@cython.locals(tops=float[32], height=float, top=float, end=Py_ssize_t, i=Py_ssize_t, k=Py_ssize_t)
cdef double _largest(const float[::1] x) noexcept nogil
