cimport cython
from libc.math cimport log10
from libc.stdint cimport int64_t

cdef Py_ssize_t BEGINS, BEHIND, FIRST, LAST, LENGTH, LONGEST, OPEN, PAUSE, PAUSE_AT, ZEROS, SPAN
cdef double LOUD, QUIET, LEAST, FLOOR, BREAKS_OFF_DB, ALIKE_DB

cpdef Py_ssize_t find_pauses(
    const double[:, ::1] planar, int64_t first, double threshold, int64_t least, int64_t[::1] found, int64_t[:, ::1] pauses,
    double[::1] energies
)
@cython.locals(count=Py_ssize_t, start=Py_ssize_t, i=Py_ssize_t, end=Py_ssize_t, side=Py_ssize_t, pause=int64_t)
cdef Py_ssize_t _find_pauses(
    const double[:, ::1] planar, int64_t first, double threshold, int64_t least, int64_t[::1] found, int64_t[:, ::1] pauses,
    double[::1] energies
) noexcept nogil
cdef Py_ssize_t _first_above(const double[:, ::1] planar, Py_ssize_t start, Py_ssize_t end, double threshold) noexcept nogil
cdef Py_ssize_t _last_above(const double[:, ::1] planar, Py_ssize_t end, double threshold) noexcept nogil
@cython.locals(total=double)
cdef double _energy_of(const double[:, ::1] planar, Py_ssize_t start, Py_ssize_t end) noexcept nogil
@cython.locals(shortest=Py_ssize_t)
cdef void _keep(int64_t[:, ::1] pauses, int64_t length, int64_t begins) noexcept nogil

@cython.locals(tops=double[8], height=double)
cdef double _peak(const double[::1] x, Py_ssize_t begin, Py_ssize_t end) noexcept nogil
@cython.locals(behind=Py_ssize_t)
cdef Py_ssize_t _behind_the_loud(const double[::1] x, Py_ssize_t at, Py_ssize_t end) noexcept nogil
@cython.locals(zeros=int64_t, longest=int64_t, i=Py_ssize_t)
cdef Py_ssize_t _take(const double[::1] x, Py_ssize_t at, int64_t[::1] state) noexcept nogil
@cython.locals(at=Py_ssize_t, behind=Py_ssize_t, length=int64_t)
cdef Py_ssize_t _runs_of(
    const double[::1] x, Py_ssize_t c, int64_t frame, int64_t[::1] state, Py_ssize_t least, int64_t[:, ::1] found, Py_ssize_t count
) noexcept nogil
@cython.locals(count=Py_ssize_t)
cpdef Py_ssize_t quiet_runs(
    const double[:, ::1] planar, int64_t frame, int64_t[:, ::1] states, Py_ssize_t least, int64_t[:, ::1] found
)
cdef double _db(double level) noexcept nogil
@cython.locals(most=double)
cdef double _steepest(const double[::1] x, Py_ssize_t begin, Py_ssize_t end, Py_ssize_t step) noexcept nogil
cpdef double breaks_off_db(
    const double[::1] x, Py_ssize_t begin, Py_ssize_t near, Py_ssize_t edge, Py_ssize_t turn, Py_ssize_t step
) noexcept nogil
@cython.locals(before_db=double, behind_db=double, ends_db=double, begins_db=double, returns_db=double)
cpdef double alike_db(
    const double[::1] x, Py_ssize_t begin, Py_ssize_t end, Py_ssize_t near, Py_ssize_t edge, Py_ssize_t turn
) noexcept nogil
@cython.locals(loud=double)
cpdef bint gap_between(
    const double[::1] x, Py_ssize_t begin, Py_ssize_t end, Py_ssize_t near, Py_ssize_t edge, Py_ssize_t back, Py_ssize_t turn,
    Py_ssize_t step, bint of_zeros
) noexcept nogil
