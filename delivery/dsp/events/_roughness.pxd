cimport cython
from libc.stdint cimport int64_t

cdef Py_ssize_t BLOCK, PER_BLOCK, PRODUCTS, TRAIN, TRAIN_NEIGHBOURS, WHITENING_ORDER, NEIGHBOURS
cdef double LITTLE, LEAST_PRODUCT, PROMINENT, LEAST, TRAIN_PROMINENT, ALIKE

cdef inline void _differences(const double[::1] samples, Py_ssize_t at, Py_ssize_t count, float[::1] differences) noexcept nogil
@cython.locals(
    p0=float[16], p1=float[16], p2=float[16], p3=float[16], p4=float[16], p5=float[16], p6=float[16], p7=float[16], p8=float[16], now=float
)
cdef inline void _products(const float[::1] differences, const float[::1] window, float[::1] windowed, double[::1] products) noexcept nogil
cdef inline float _total(float* lanes) noexcept nogil
@cython.locals(
    total=double[17], taps=double[17], turned=double[9], error=double, near=double, far=double, reflected=double, order=Py_ssize_t,
    j=Py_ssize_t, lag=Py_ssize_t
)
cdef inline void _filter(double[::1] before, double[::1] behind, double[::1] predictor) noexcept nogil
@cython.locals(p1=float, p2=float, p3=float, p4=float, p5=float, p6=float, p7=float, p8=float, near=float)
cdef inline void _whitened(const float[::1] x, Py_ssize_t at, const double[::1] predictor, float[::1] left) noexcept nogil
@cython.locals(lanes=float[16], square=float)
cdef inline void _fourth_powers(const float[::1] left, Py_ssize_t each, double[::1] sums, Py_ssize_t at, Py_ssize_t count) noexcept nogil
@cython.locals(differences=float[:, ::1], room=float[:, ::1], small=double[:, ::1])
cpdef roughness(const double[::1] samples, const float[::1] window, Py_ssize_t times, double[:, ::1] products, double[::1] rough)
cdef inline void _roughness(
    const double[::1] samples, const float[::1] window, Py_ssize_t times, double[:, ::1] products, double[::1] rough,
    float[:, ::1] differences, float[:, ::1] room, double[:, ::1] small
) noexcept nogil
@cython.locals(least=double, near=bint, j=Py_ssize_t)
cdef inline bint _is_outstanding(const double[::1] rough, Py_ssize_t k, Py_ssize_t neighbours, double times) noexcept nogil
@cython.locals(count=Py_ssize_t, least=double)
cdef inline bint _in_a_train(const double[::1] rough, Py_ssize_t k) noexcept nogil
@cython.locals(count=Py_ssize_t)
cpdef Py_ssize_t rough_places(const double[::1] rough, Py_ssize_t begin, Py_ssize_t end, int64_t[:, ::1] found)
