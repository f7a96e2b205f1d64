cimport cython
from libc.math cimport sqrt
from libc.stdint cimport int64_t

cdef Py_ssize_t AT, BLOCK, DEPARTURE, EXPLAINED, BACKGROUND_PEAK, FLAT_SAMPLES, RESIDUAL_PEAK, ORDER, SIDE_MISMATCH, PEAK, PER_BLOCK, PRODUCTS, NEARBY_PEAK, SIGMA
cdef Py_ssize_t TRAIN, TRAIN_NEIGHBOURS, UNKNOWN, WHITENING_ORDER, NEIGHBOURS, NEAR, SEARCHED, RINGS, BACK, REACH, FLAT_REACH
cdef double LITTLE, LEAST_PRODUCT, PROMINENT, LEAST, TRAIN_PROMINENT, ALIKE, LEAST_SIGMA, LEAST_ENERGY, FLAT_FROM

cdef void _differences(const double[::1] samples, Py_ssize_t at, Py_ssize_t count, float[::1] differences) noexcept nogil
@cython.locals(p0=float[16], p1=float[16], p2=float[16])
cdef void _products(const float[::1] differences, const float[::1] window, float[::1] windowed, double[::1] products) noexcept nogil
cdef float _total(float* lanes) noexcept nogil
@cython.locals(error=double, rest=double, reflected=double)
cdef void _filter(double[::1] before, double[::1] behind, double[::1] predictor, double[::1] total, double[::1] turned) noexcept nogil
@cython.locals(p1=float, p2=float, p3=float, p4=float, p5=float, p6=float, p7=float, p8=float, near=float)
cdef void _whitened(const float[::1] x, Py_ssize_t at, const double[::1] predictor, float[::1] left) noexcept nogil
@cython.locals(lanes=float[16], square=float)
cdef void _fourth_powers(const float[::1] left, Py_ssize_t each, double[::1] sums, Py_ssize_t at, Py_ssize_t count) noexcept nogil
@cython.locals(differences=float[:, ::1], room=float[:, ::1], small=double[:, ::1])
cpdef roughness(const double[::1] samples, const float[::1] window, Py_ssize_t times, double[:, ::1] products, double[::1] rough)
cdef void _roughness(
    const double[::1] samples, const float[::1] window, Py_ssize_t times, double[:, ::1] products, double[::1] rough,
    float[:, ::1] differences, float[:, ::1] room, double[:, ::1] small
) noexcept nogil
@cython.locals(least=double, j=Py_ssize_t)
cdef bint _is_outstanding(const double[::1] rough, Py_ssize_t k, Py_ssize_t neighbours, double times) noexcept nogil
@cython.locals(count=Py_ssize_t, least=double)
cdef bint _in_a_train(const double[::1] rough, Py_ssize_t k) noexcept nogil
@cython.locals(count=Py_ssize_t)
cpdef Py_ssize_t rough_places(const double[::1] rough, Py_ssize_t begin, Py_ssize_t end, int64_t[:, ::1] found)
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
cdef double _explain(
    double[::1] rest, Py_ssize_t at, double[::1] predictor, double[:, ::1] gram, double[:, ::1] lower, double[:, ::1] vectors
) noexcept nogil
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
@cython.locals(at=Py_ssize_t, ring=double, before=double, of_right=double, of_left=double)
cdef void _look_closely(
    const double[::1] x, double[:, :, ::1] sums, double[:, ::1] predictors, double[::1] rest, double[:, ::1] inner, double[:, ::1] lower,
    double[:, ::1] gram, double[:, ::1] small, double[:, ::1] vectors, double[::1] found
) noexcept nogil
