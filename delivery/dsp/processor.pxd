cdef extern from *:
    """
    #if defined(__x86_64__)
    static int has_avx2(void) { __builtin_cpu_init(); return !!__builtin_cpu_supports("avx2"); }
    static int has_avx512(void)
    {
        __builtin_cpu_init();
        return __builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq")
            && __builtin_cpu_supports("avx512bw") && __builtin_cpu_supports("avx512vl");
    }
    #else
    static int has_avx2(void) { return 0; }
    static int has_avx512(void) { return 0; }
    #endif
    """
    bint has_avx2()
    bint has_avx512()
