cdef extern from *:
    """
    #if defined(__x86_64__)
    static int has_avx2(void) { __builtin_cpu_init(); return !!__builtin_cpu_supports("avx2"); }
    #else
    static int has_avx2(void) { return 0; }
    #endif
    """
    bint has_avx2()
