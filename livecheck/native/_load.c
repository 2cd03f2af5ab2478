/* A load for one processor core that checks its own results.
 *
 * Every kind of work has a result known beforehand by mathematics, so nothing
 * is compared against another run on the same, perhaps faulty, processor:
 *   integer  64-bit multiply, rotate, add, n times forward and n times back:
 *            every step is a bijection, so the start value must come back;
 *   vector   the same with 32-bit lanes of the widest vector unit;
 *   float    whole numbers small enough that every product, sum, quotient and
 *            root is exact by IEEE 754.
 *
 * values() computes what a graphics chip is given to compute, word for word.
 *
 * work() releases the interpreter lock. Its argument "flip" is for tests: it
 * spoils one value half-way, as a faulty processor would. */

#define PY_SSIZE_T_CLEAN
#define Py_LIMITED_API 0x030B0000
#include <Python.h>

#include <stdint.h>
#include <string.h>

#if !defined(__x86_64__)
#error "the load is written for 64-bit x86 processors"
#endif

enum { SCALARS = 8, LANES = 16, DOUBLES = 8 };

struct outcome {
    uint64_t expected, got; /* of the first value that differs; equal when all is well */
};

/* An odd number and its inverse: a * a' = 1 modulo 2^64, and so modulo 2^32. */
#define ODD UINT64_C(0x9E3779B97F4A7C15)
#define INVERSE UINT64_C(0xF1DE83E19937733D)
#define STEP UINT64_C(0xD1B54A32D192ED03)

static inline uint64_t
rotate(uint64_t value, int by)
{
    return value << by | value >> (64 - by);
}

static struct outcome
integer_work(uint64_t rounds, uint64_t seed, uint64_t flip)
{
    uint64_t start[SCALARS], state[SCALARS];
    for (int i = 0; i < SCALARS; i++)
        start[i] = state[i] = (seed + (uint64_t)i + 1) * STEP;
    for (uint64_t n = 0; n < rounds; n++)
        for (int i = 0; i < SCALARS; i++)
            state[i] = rotate(state[i] * ODD, 23) + (STEP ^ n);
    state[0] ^= flip;
    for (uint64_t n = rounds; n-- > 0;)
        for (int i = 0; i < SCALARS; i++)
            state[i] = rotate(state[i] - (STEP ^ n), 41) * INVERSE;
    for (int i = 0; i < SCALARS; i++)
        if (state[i] != start[i])
            return (struct outcome){start[i], state[i]};
    return (struct outcome){0, 0};
}

typedef uint32_t lanes __attribute__((vector_size(LANES * 4)));

static inline __attribute__((always_inline)) struct outcome
vector_body(uint64_t rounds, uint64_t seed, uint64_t flip)
{
    lanes start, state, other;
    for (int i = 0; i < LANES; i++)
        start[i] = (uint32_t)((seed + (uint64_t)i + 1) * STEP >> 16);
    state = start;
    other = ~start;
    for (uint64_t n = 0; n < rounds; n++) {
        const uint32_t add = (uint32_t)(STEP ^ n);
        state = state * (uint32_t)ODD;
        other = other * (uint32_t)ODD;
        state = (state << 13 | state >> 19) + add;
        other = (other << 13 | other >> 19) + add;
    }
    state[0] ^= (uint32_t)flip;
    for (uint64_t n = rounds; n-- > 0;) {
        const uint32_t add = (uint32_t)(STEP ^ n);
        state = state - add;
        other = other - add;
        state = (state << 19 | state >> 13) * (uint32_t)INVERSE;
        other = (other << 19 | other >> 13) * (uint32_t)INVERSE;
    }
    for (int i = 0; i < LANES; i++) {
        if (state[i] != start[i])
            return (struct outcome){start[i], state[i]};
        if (other[i] != ~start[i])
            return (struct outcome){~start[i], other[i]};
    }
    return (struct outcome){0, 0};
}

static struct outcome
vector_sse2(uint64_t rounds, uint64_t seed, uint64_t flip)
{
    return vector_body(rounds, seed, flip);
}

static __attribute__((target("avx2"))) struct outcome
vector_avx2(uint64_t rounds, uint64_t seed, uint64_t flip)
{
    return vector_body(rounds, seed, flip);
}

static __attribute__((target("avx512f"))) struct outcome
vector_avx512(uint64_t rounds, uint64_t seed, uint64_t flip)
{
    return vector_body(rounds, seed, flip);
}

/* Numbers up to 2^20: products stay below 2^41, sums below 2^53. */
static inline __attribute__((always_inline)) struct outcome
float_body(uint64_t rounds, uint64_t seed, uint64_t flip, int fused)
{
    const uint64_t small = (1u << 20) - 1;
    double x[DOUBLES], sum[DOUBLES] = {0};
    uint64_t whole[DOUBLES], total[DOUBLES] = {0};
    for (uint64_t n = 0; n < rounds; n++) {
        const uint64_t k = (rotate(seed + n, 17) * ODD >> 44) | 1;
        const double factor = (double)k, offset = (double)(n & small);
        for (int i = 0; i < DOUBLES; i++) {
            whole[i] = ((seed ^ n) + (uint64_t)i * 7919) * STEP >> 44;
            x[i] = (double)whole[i];
        }
        if (n == rounds / 2)
            x[0] += (double)(flip & small);
        for (int i = 0; i < DOUBLES; i++) {
            const double y = fused ? __builtin_fma(x[i], factor, offset) : x[i] * factor + offset;
            const double back = (y - offset) / factor;
            sum[i] += __builtin_sqrt(back * back);
            total[i] += whole[i];
        }
    }
    for (int i = 0; i < DOUBLES; i++)
        if (sum[i] != (double)total[i])
            return (struct outcome){total[i], (uint64_t)sum[i]};
    return (struct outcome){0, 0};
}

static struct outcome
float_sse2(uint64_t rounds, uint64_t seed, uint64_t flip)
{
    return float_body(rounds, seed, flip, 0);
}

static __attribute__((target("avx2,fma"))) struct outcome
float_avx2(uint64_t rounds, uint64_t seed, uint64_t flip)
{
    return float_body(rounds, seed, flip, 1);
}

static __attribute__((target("avx512f,avx512dq,fma"))) struct outcome
float_avx512(uint64_t rounds, uint64_t seed, uint64_t flip)
{
    return float_body(rounds, seed, flip, 1);
}

typedef struct outcome (*worker)(uint64_t, uint64_t, uint64_t);

static int
width(void)
{
    __builtin_cpu_init();
    if (!__builtin_cpu_supports("avx2") || !__builtin_cpu_supports("fma"))
        return 0;
    return __builtin_cpu_supports("avx512f") && __builtin_cpu_supports("avx512dq") ? 2 : 1;
}

static worker
find_worker(const char *kind)
{
    static const worker vectors[] = {vector_sse2, vector_avx2, vector_avx512};
    static const worker floats[] = {float_sse2, float_avx2, float_avx512};
    if (strcmp(kind, "integer") == 0)
        return integer_work;
    if (strcmp(kind, "vector") == 0)
        return vectors[width()];
    if (strcmp(kind, "float") == 0)
        return floats[width()];
    PyErr_Format(PyExc_ValueError, "no work called '%s' (integer, vector, float)", kind);
    return NULL;
}

/* Sums of the float work stay exact up to here: 2^20 * 2^32 < 2^53. */
#define MAX_ROUNDS (UINT64_C(1) << 32)

static PyObject *
work(PyObject *Py_UNUSED(module), PyObject *args)
{
    const char *kind;
    unsigned long long rounds, seed, flip = 0;
    struct outcome outcome;
    if (!PyArg_ParseTuple(args, "sKK|K", &kind, &rounds, &seed, &flip))
        return NULL;
    if (rounds < 1 || rounds > MAX_ROUNDS) {
        PyErr_SetString(PyExc_ValueError, "rounds must be 1 to 2**32");
        return NULL;
    }
    worker run = find_worker(kind);
    if (run == NULL)
        return NULL;
    Py_BEGIN_ALLOW_THREADS
    outcome = run(rounds, seed, flip);
    Py_END_ALLOW_THREADS
    if (outcome.expected == outcome.got)
        Py_RETURN_NONE;
    return Py_BuildValue("KK", (unsigned long long)outcome.expected,
                         (unsigned long long)outcome.got);
}

/* Whole blocks of words, so that the compiler can use the vector unit. */
#define BLOCK 64

static void
mix(uint32_t *words, uint32_t first, uint32_t rounds, uint32_t seed)
{
    for (uint32_t i = 0; i < BLOCK; i++)
        words[i] = (first + i + 1) * UINT32_C(0x9E3779B9) ^ seed;
    for (uint32_t n = 0; n < rounds; n++)
        for (int i = 0; i < BLOCK; i++) {
            const uint32_t product = words[i] * UINT32_C(0x85EBCA6B);
            words[i] = (product << 13 | product >> 19) + (UINT32_C(0xD1B54A33) ^ n);
        }
}

static PyObject *
values(PyObject *Py_UNUSED(module), PyObject *args)
{
    unsigned int blocks, rounds, seed;
    if (!PyArg_ParseTuple(args, "III", &blocks, &rounds, &seed))
        return NULL;
    PyObject *made = PyBytes_FromStringAndSize(NULL, (Py_ssize_t)blocks * BLOCK * 4);
    if (made == NULL)
        return NULL;
    uint32_t *words = (uint32_t *)PyBytes_AsString(made);
    Py_BEGIN_ALLOW_THREADS
    for (uint32_t n = 0; n < blocks; n++)
        mix(words + (size_t)n * BLOCK, n * BLOCK, rounds, seed);
    Py_END_ALLOW_THREADS
    return made;
}

static PyObject *
unit(PyObject *Py_UNUSED(module), PyObject *Py_UNUSED(none))
{
    static const char *const names[] = {"sse2", "avx2", "avx512"};
    return PyUnicode_FromString(names[width()]);
}

static PyMethodDef METHODS[] = {
    {"work", work, METH_VARARGS,
     PyDoc_STR("Do rounds of one kind of work; None, or (expected, got) of the first wrong value.")},
    {"values", values, METH_VARARGS,
     PyDoc_STR("What a graphics chip has to make of blocks of 64 words, as bytes.")},
    {"unit", unit, METH_NOARGS, PyDoc_STR("Name of the vector unit the work uses.")},
    {NULL, NULL, 0, NULL},
};

static PyModuleDef_Slot SLOTS[] = {{0, NULL}};

static PyModuleDef MODULE = {
    PyModuleDef_HEAD_INIT,
    .m_name = "livecheck.native._load",
    .m_doc = PyDoc_STR("A processor load that checks its own results."),
    .m_methods = METHODS,
    .m_slots = SLOTS,
};

PyMODINIT_FUNC
PyInit__load(void)
{
    return PyModuleDef_Init(&MODULE);
}
