cimport cython
from libc.math cimport sqrt

cdef Py_ssize_t AT, DEPARTURE, EXPLAINED, BACKGROUND_PEAK, FLAT_SAMPLES, RESIDUAL_PEAK, ORDER, SIDE_MISMATCH, PEAK, NEARBY_PEAK, SIGMA
cdef Py_ssize_t OVER_TOP, UNKNOWN, NEAR, SEARCHED, RINGS, BACK, REACH, FLAT_REACH
cdef double LEAST_SIGMA, LEAST_ENERGY, FLAT_FROM, TOP

@cython.locals(total=double, moved=double)
cdef void _covariance(const double[::1] x, Py_ssize_t begin, Py_ssize_t end, double[:, ::1] sums) noexcept nogil
@cython.locals(lanes=double[8])
cdef double _product(const double[::1] x, Py_ssize_t begin, Py_ssize_t end, Py_ssize_t late) noexcept nogil
@cython.locals(trace=double, little=double, rest=double)
cdef void _factored(double[:, ::1] matrix, double[:, ::1] lower) noexcept nogil
cdef void _solved(double[:, ::1] lower, double[::1] right) noexcept nogil
cdef void _predictor(double[:, ::1] sums, double[::1] predictor, double[:, ::1] inner, double[:, ::1] lower) noexcept nogil
@cython.locals(total=double)
cdef double _error(double[:, ::1] sums, double[::1] predictor) noexcept nogil
@cython.locals(longest=Py_ssize_t, run=Py_ssize_t)
cdef Py_ssize_t _flat_top(const double[::1] x, Py_ssize_t at, double highest) noexcept nogil
@cython.locals(highest=double)
cdef double _highest(const double[::1] rest, Py_ssize_t begin, Py_ssize_t end) noexcept nogil
@cython.locals(total=double)
cdef double _energy(const double[::1] rest, Py_ssize_t begin, Py_ssize_t end) noexcept nogil
@cython.locals(late=Py_ssize_t, most=double, first=Py_ssize_t, total=double, gain=double)
cdef Py_ssize_t _explain(
    double[::1] rest, Py_ssize_t at, double[::1] predictor, double[:, ::1] gram, double[:, ::1] lower, double[:, ::1] vectors
) noexcept nogil
@cython.locals(farthest=double)
cdef double _over_top(const double[::1] x, Py_ssize_t first, const double[::1] over, double highest) noexcept nogil
@cython.locals(tap=double)
cdef void _filtered(const double[::1] x, double[::1] predictor, double[::1] rest) noexcept nogil
@cython.locals(
    sums=double[:, :, ::1], predictors=double[:, ::1], inner=double[:, ::1], lower=double[:, ::1], gram=double[:, ::1],
    small=double[:, ::1], vectors=double[:, ::1], suspicious=bint, remains=double[::1]
)
cpdef bint examine(const double[::1] x, Py_ssize_t half, double least_over_background, double[::1] found)
@cython.locals(at=Py_ssize_t)
cdef bint _peak_of(
    const double[::1] x, Py_ssize_t half, double least_over_background, double[:, :, ::1] sums, double[::1] predictor, double[::1] rest,
    double[:, ::1] inner, double[:, ::1] lower, double[::1] found
) noexcept nogil
@cython.locals(at=Py_ssize_t, first=Py_ssize_t, highest=double, ring=double, before=double, of_right=double, of_left=double)
cdef void _look_closely(
    const double[::1] x, double[:, :, ::1] sums, double[:, ::1] predictors, double[::1] rest, double[:, ::1] inner, double[:, ::1] lower,
    double[:, ::1] gram, double[:, ::1] small, double[:, ::1] vectors, double[::1] found
) noexcept nogil
