cimport cython

cdef Py_ssize_t SHORT_LANES, SHORT_SIZE

@cython.locals(scale=double, total=double)
cpdef mixed(const double[::1] first, const double[::1] second, double weight, Py_ssize_t every, float[::1] out)
@cython.locals(room=float[:, ::1], at=Py_ssize_t)
cpdef short_powers(const float[::1] sound, Py_ssize_t hop, const float[::1] window, const float[:, ::1] turns, float[:, :, ::1] out)
@cython.locals(room=float[:, ::1], at=Py_ssize_t)
cpdef pair_powers(
    const float[::1] first, const float[::1] second, Py_ssize_t hop, const float[::1] window, const float[:, ::1] turns, float[:, :, ::1] out
)
@cython.locals(whole=Py_ssize_t)
cdef void _filled(const float[::1] sound, Py_ssize_t at, Py_ssize_t hop, const float[::1] window, float[::1] lanes) noexcept nogil
cdef void _transformed(float[:, ::1] room, const float[:, ::1] turns) noexcept nogil
@cython.locals(
    ar=float[8], ai=float[8], br=float[8], bi=float[8], cr=float[8], ci=float[8], dr=float[8], di=float[8], own=Py_ssize_t,
    quarter=Py_ssize_t, c1=float, s1=float, c2=float, s2=float, c3=float, s3=float, at=Py_ssize_t, to=Py_ssize_t
)
cdef void _step(
    const float[::1] xr, const float[::1] xi, float[::1] yr, float[::1] yi, const float[:, ::1] turns, Py_ssize_t stride
) noexcept nogil
@cython.locals(first=float[8], second=float[8], at=Py_ssize_t, mirrored=Py_ssize_t, even=float, odd=float)
cdef void _squared(const float[::1] real, const float[::1] imaginary, float[:, ::1] out) noexcept nogil
@cython.locals(total=float[8], at=Py_ssize_t, mirrored=Py_ssize_t)
cdef void _added(const float[::1] real, const float[::1] imaginary, float[:, ::1] out) noexcept nogil
