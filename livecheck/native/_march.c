/* March tests over real memory, at the speed of memory.
 *
 * march() runs one march element over a run of 64-byte lines of a buffer and
 * returns the words that came back wrong. It keeps no state between calls:
 * the caller holds the position, calls with a few MiB at a time and may stop
 * after any call. The interpreter lock is released during the run, so several
 * threads may work on different lines of one buffer.
 *
 * What each line holds for a bit is a background: word w of line i is
 * key(i) ^ words[w], complemented for bit 1 (see backgrounds.py). */

#define _GNU_SOURCE
#define PY_SSIZE_T_CLEAN
#define Py_LIMITED_API 0x030B0000
#include <Python.h>

#include <cpuid.h>
#include <errno.h>
#include <immintrin.h>
#include <stdint.h>
#include <string.h>
#include <sys/mman.h>

#if !defined(__x86_64__)
#error "the march kernel is written for 64-bit x86 processors"
#endif

enum { LINE = 64, LINE_SHIFT = 6, WORDS = 8, MAX_OPS = 16, LOG_WORDS = 1 + WORDS };
enum { OP_BIT = 1, OP_WRITE = 2 };
enum { NOTHING, READ, WRITE };
enum { SHAPE_WRITE, SHAPE_READ_WRITE, SHAPE_ANY };
enum { KEY_NONE, KEY_ALTERNATE, KEY_ADDRESS, KEY_RANDOM, KEY_KINDS };

struct mismatch {
    uint64_t line;
    uint32_t word, op;
    uint64_t expected, read, again;
};

struct job {
    uint8_t *memory;
    uint64_t first, lines, base, seed;
    uint64_t words[WORDS];
    int down, key_kind;
    unsigned n_ops, bits, writes; /* operation n is bit n of the last two */
    int unordered; /* clflushopt is there */
    uint64_t *log;
    struct mismatch *bad;
    uint64_t limit, bad_words;
};

/* Steele, Lea, Flood: "Fast splittable pseudorandom number generators",
 * OOPSLA 2014: the output function of the generator at a given counter. */
static inline uint64_t
splitmix64(uint64_t counter)
{
    uint64_t z = counter * UINT64_C(0x9E3779B97F4A7C15);
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

static inline uint64_t
line_key(int kind, uint64_t index, uint64_t seed)
{
    switch (kind) {
    case KEY_ALTERNATE:
        return -(index & 1);
    case KEY_ADDRESS:
        return index << LINE_SHIFT;
    case KEY_RANDOM:
        return splitmix64(seed + index);
    default:
        return 0;
    }
}

/* clflushopt does the same as clflush, but flushes of different lines do not
 * wait for each other. In assembler: the compiler would demand the feature of
 * the whole function, and the SSE2 kernel must run without it. */
static inline void
flush_line(void *line, int unordered)
{
    if (unordered)
        __asm__ volatile("clflushopt %0" : "+m"(*(volatile char *)line));
    else
        _mm_clflush(line);
}

#define SUFFIX sse2
#define TARGET
#define VEC __m128i
#define PARTS 4
#define LOAD(p) _mm_load_si128(p)
#define STORE(p, v) _mm_storeu_si128(p, v)
#define STREAM(p, v) _mm_stream_si128(p, v)
#define XOR(a, b) _mm_xor_si128(a, b)
#define SPREAD(u) _mm_set1_epi64x((long long)(u))
#define OR(a, b) _mm_or_si128(a, b)
#define ANY(v) (_mm_movemask_epi8(_mm_cmpeq_epi8(v, _mm_setzero_si128())) != 0xFFFF)
#include "_march_lines.h"

#define SUFFIX avx2
#define TARGET __attribute__((target("avx2")))
#define VEC __m256i
#define PARTS 2
#define LOAD(p) _mm256_load_si256(p)
#define STORE(p, v) _mm256_storeu_si256(p, v)
#define STREAM(p, v) _mm256_stream_si256(p, v)
#define XOR(a, b) _mm256_xor_si256(a, b)
#define SPREAD(u) _mm256_set1_epi64x((long long)(u))
#define OR(a, b) _mm256_or_si256(a, b)
#define ANY(v) (_mm256_movemask_epi8(_mm256_cmpeq_epi8(v, _mm256_setzero_si256())) != -1)
#include "_march_lines.h"

/* Two loads a line: measured on Zen 4, one 64-byte load a line falls to a
 * third of the speed in descending order, as if nothing were prefetched. */
static inline __attribute__((always_inline, target("avx512f"))) __m512i
load_halves(const __m512i *line)
{
    const __m256i *half = (const __m256i *)line;
    return _mm512_inserti64x4(_mm512_castsi256_si512(_mm256_load_si256(half)),
                              _mm256_load_si256(half + 1), 1);
}

#define SUFFIX avx512
#define TARGET __attribute__((target("avx512f")))
#define VEC __m512i
#define PARTS 1
#define LOAD(p) load_halves(p)
#define STORE(p, v) _mm512_storeu_si512(p, v)
#define STREAM(p, v) _mm512_stream_si512(p, v)
#define XOR(a, b) _mm512_xor_si512(a, b)
#define SPREAD(u) _mm512_set1_epi64((long long)(u))
#define OR(a, b) _mm512_or_si512(a, b)
#define ANY(v) (_mm512_test_epi64_mask(v, v) != 0)
#include "_march_lines.h"

struct kernel {
    const char *name;
    void (*run)(struct job *);
};

/* Narrowest first; a processor that runs one runs all before it. */
static const struct kernel KERNELS[] = {
    {"sse2", march_sse2},
    {"avx2", march_avx2},
    {"avx512", march_avx512},
};

static size_t
usable_kernels(void)
{
    __builtin_cpu_init();
    if (!__builtin_cpu_supports("avx2"))
        return 1;
    return __builtin_cpu_supports("avx512f") ? 3 : 2;
}

static int
has_clflushopt(void)
{
    unsigned eax, ebx, ecx, edx;
    return __get_cpuid_count(7, 0, &eax, &ebx, &ecx, &edx) && (ebx & (1u << 23));
}

static const struct kernel *
find_kernel(const char *name)
{
    size_t usable = usable_kernels();
    if (name == NULL)
        return &KERNELS[usable - 1];
    for (size_t i = 0; i < usable; i++)
        if (strcmp(KERNELS[i].name, name) == 0)
            return &KERNELS[i];
    PyErr_Format(PyExc_ValueError, "kernel '%s' cannot run on this processor", name);
    return NULL;
}

/* Takes the arguments over into the job; -1 with an exception set. */
static int
check_job(struct job *job, const Py_buffer *memory, const Py_buffer *ops, const Py_buffer *words)
{
    uint64_t held = (uint64_t)memory->len >> LINE_SHIFT;
    if ((uintptr_t)memory->buf % LINE != 0) {
        PyErr_SetString(PyExc_ValueError, "the buffer does not begin on a 64-byte line");
        return -1;
    }
    if (job->first > held || job->lines > held - job->first) {
        PyErr_Format(PyExc_ValueError, "lines %llu..%llu are outside the buffer of %llu lines",
                     (unsigned long long)job->first,
                     (unsigned long long)(job->first + job->lines), (unsigned long long)held);
        return -1;
    }
    if (ops->len < 1 || ops->len > MAX_OPS) {
        PyErr_Format(PyExc_ValueError, "an element has 1 to %d operations, not %zd", MAX_OPS,
                     ops->len);
        return -1;
    }
    if (words->len != LINE) {
        PyErr_Format(PyExc_ValueError, "words must be %d bytes, not %zd", LINE, words->len);
        return -1;
    }
    if (job->key_kind < 0 || job->key_kind >= KEY_KINDS) {
        PyErr_Format(PyExc_ValueError, "key must be 0 to %d, not %d", KEY_KINDS - 1, job->key_kind);
        return -1;
    }
    job->memory = memory->buf;
    job->n_ops = (unsigned)ops->len;
    memcpy(job->words, words->buf, LINE);
    for (unsigned op = 0; op < job->n_ops; op++) {
        unsigned code = ((const uint8_t *)ops->buf)[op];
        if (code > (OP_BIT | OP_WRITE)) {
            PyErr_Format(PyExc_ValueError, "operation code %u is not 0 to 3", code);
            return -1;
        }
        job->bits |= (code & OP_BIT) << op;
        job->writes |= (code >> 1) << op;
    }
    return 0;
}

static int
check_log(struct job *job, const Py_buffer *log)
{
    if (log->buf == NULL)
        return 0;
    uint64_t needed = job->lines * job->n_ops * LOG_WORDS * sizeof(uint64_t);
    if ((uint64_t)log->len < needed || (uintptr_t)log->buf % sizeof(uint64_t) != 0) {
        PyErr_Format(PyExc_ValueError, "the log needs %llu aligned bytes, not %zd",
                     (unsigned long long)needed, log->len);
        return -1;
    }
    job->log = log->buf;
    return 0;
}

static PyObject *
mismatch_list(const struct job *job)
{
    uint64_t kept = job->bad_words < job->limit ? job->bad_words : job->limit;
    PyObject *list = PyList_New(0);
    if (list == NULL)
        return NULL;
    for (uint64_t i = 0; i < kept; i++) {
        const struct mismatch *bad = &job->bad[i];
        PyObject *row = Py_BuildValue("KIIKKK", (unsigned long long)bad->line, bad->word, bad->op,
                                      (unsigned long long)bad->expected,
                                      (unsigned long long)bad->read,
                                      (unsigned long long)bad->again);
        if (row == NULL || PyList_Append(list, row) < 0) {
            Py_XDECREF(row);
            Py_DECREF(list);
            return NULL;
        }
        Py_DECREF(row);
    }
    return list;
}

static PyObject *
run_job(struct job *job, const struct kernel *kernel)
{
    if (job->limit > 0) {
        if (job->limit > SIZE_MAX / sizeof *job->bad)
            return PyErr_NoMemory();
        job->bad = PyMem_Malloc(job->limit * sizeof *job->bad);
        if (job->bad == NULL)
            return PyErr_NoMemory();
    }
    job->unordered = has_clflushopt();
    Py_BEGIN_ALLOW_THREADS
    kernel->run(job);
    Py_END_ALLOW_THREADS
    PyObject *list = mismatch_list(job);
    PyMem_Free(job->bad);
    if (list == NULL)
        return NULL;
    return Py_BuildValue("KN", (unsigned long long)job->bad_words, list);
}

static PyObject *
march(PyObject *Py_UNUSED(module), PyObject *args, PyObject *keywords)
{
    static char *names[] = {"memory", "first", "lines",  "ops", "down",  "key", "words",
                            "seed",   "base",  "kernel", "log", "limit", NULL};
    Py_buffer memory = {0}, ops = {0}, words = {0}, log = {0};
    PyObject *log_object = Py_None, *result = NULL;
    const char *kernel_name = NULL;
    unsigned long long first, lines, seed = 0, base = 0, limit = 1024;
    struct job job = {0};
    if (!PyArg_ParseTupleAndKeywords(args, keywords, "w*KKy*piy*|KKzOK", names, &memory, &first,
                                     &lines, &ops, &job.down, &job.key_kind, &words, &seed, &base,
                                     &kernel_name, &log_object, &limit))
        return NULL;
    job.first = first;
    job.lines = lines;
    job.seed = seed;
    job.base = base;
    job.limit = limit;
    const struct kernel *kernel = find_kernel(kernel_name);
    if (kernel != NULL && check_job(&job, &memory, &ops, &words) == 0 &&
        (log_object == Py_None || PyObject_GetBuffer(log_object, &log, PyBUF_WRITABLE) == 0) &&
        check_log(&job, &log) == 0)
        result = run_job(&job, kernel);
    if (log.obj != NULL)
        PyBuffer_Release(&log);
    PyBuffer_Release(&words);
    PyBuffer_Release(&ops);
    PyBuffer_Release(&memory);
    return result;
}

static PyObject *
kernels(PyObject *Py_UNUSED(module), PyObject *Py_UNUSED(none))
{
    size_t usable = usable_kernels();
    PyObject *names = PyTuple_New((Py_ssize_t)usable);
    for (size_t i = 0; names != NULL && i < usable; i++) {
        PyObject *name = PyUnicode_FromString(KERNELS[i].name);
        if (name == NULL || PyTuple_SetItem(names, (Py_ssize_t)i, name) < 0)
            Py_CLEAR(names);
    }
    return names;
}

/* mlock or munlock, which may sleep for seconds: without the lock. */
static PyObject *
change_lock(PyObject *object, int (*change)(const void *, size_t))
{
    Py_buffer memory;
    int failed, error;
    if (PyObject_GetBuffer(object, &memory, PyBUF_WRITABLE) < 0)
        return NULL;
    Py_BEGIN_ALLOW_THREADS
    failed = change(memory.buf, (size_t)memory.len);
    error = errno;
    Py_END_ALLOW_THREADS
    PyBuffer_Release(&memory);
    if (failed) {
        errno = error;
        return PyErr_SetFromErrno(PyExc_OSError);
    }
    Py_RETURN_NONE;
}

static PyObject *
lock(PyObject *Py_UNUSED(module), PyObject *object)
{
    return change_lock(object, mlock);
}

static PyObject *
unlock(PyObject *Py_UNUSED(module), PyObject *object)
{
    return change_lock(object, munlock);
}

static PyObject *
address(PyObject *Py_UNUSED(module), PyObject *object)
{
    Py_buffer memory;
    if (PyObject_GetBuffer(object, &memory, PyBUF_WRITABLE) < 0)
        return NULL;
    PyObject *number = PyLong_FromVoidPtr(memory.buf);
    PyBuffer_Release(&memory);
    return number;
}

static PyMethodDef METHODS[] = {
    {"march", (PyCFunction)(void (*)(void))march, METH_VARARGS | METH_KEYWORDS,
     PyDoc_STR("Run one march element over some lines; return (bad words, the first of them).")},
    {"kernels", kernels, METH_NOARGS,
     PyDoc_STR("Names of the kernels this processor runs, narrowest first.")},
    {"lock", lock, METH_O, PyDoc_STR("Keep the buffer in memory; OSError when not allowed.")},
    {"unlock", unlock, METH_O, PyDoc_STR("Undo lock().")},
    {"address", address, METH_O, PyDoc_STR("Virtual address of the buffer.")},
    {NULL, NULL, 0, NULL},
};

static PyModuleDef_Slot SLOTS[] = {{0, NULL}};

static PyModuleDef MODULE = {
    PyModuleDef_HEAD_INIT,
    .m_name = "livecheck.native._march",
    .m_doc = PyDoc_STR("March tests over real memory."),
    .m_methods = METHODS,
    .m_slots = SLOTS,
};

PyMODINIT_FUNC
PyInit__march(void)
{
    return PyModuleDef_Init(&MODULE);
}
