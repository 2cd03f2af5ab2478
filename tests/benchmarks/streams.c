/* The limits the march kernel is held against: plain loops that fill and copy.
 * Compiled by memory.py with the very flags of the extension. */

#include <immintrin.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

void
fill_sse2(char *to, const char *unused, size_t size)
{
    (void)unused;
    for (size_t i = 0; i < size; i += 16)
        _mm_stream_si128((__m128i *)(to + i), _mm_set1_epi8(0x5A));
    _mm_sfence();
}

__attribute__((target("avx2"))) void
fill_avx2(char *to, const char *unused, size_t size)
{
    (void)unused;
    for (size_t i = 0; i < size; i += 32)
        _mm256_stream_si256((__m256i *)(to + i), _mm256_set1_epi8(0x5A));
    _mm_sfence();
}

__attribute__((target("avx512f"))) void
fill_avx512(char *to, const char *unused, size_t size)
{
    (void)unused;
    for (size_t i = 0; i < size; i += 64)
        _mm512_stream_si512((__m512i *)(to + i), _mm512_set1_epi32(0x5A));
    _mm_sfence();
}

/* The plain loop; the compiler makes of it what its flags allow (here memcpy). */
void
copy_loop(char *restrict to, const char *restrict from, size_t size)
{
    uint64_t *target = (uint64_t *)to;
    const uint64_t *source = (const uint64_t *)from;
    for (size_t i = 0; i < size / sizeof *target; i++)
        target[i] = source[i];
}

void
copy_sse2(char *to, const char *from, size_t size)
{
    for (size_t i = 0; i < size; i += 16)
        _mm_stream_si128((__m128i *)(to + i), _mm_load_si128((const __m128i *)(from + i)));
    _mm_sfence();
}

__attribute__((target("avx2"))) void
copy_avx2(char *to, const char *from, size_t size)
{
    for (size_t i = 0; i < size; i += 32)
        _mm256_stream_si256((__m256i *)(to + i), _mm256_load_si256((const __m256i *)(from + i)));
    _mm_sfence();
}

__attribute__((target("avx512f"))) void
copy_avx512(char *to, const char *from, size_t size)
{
    for (size_t i = 0; i < size; i += 64)
        _mm512_stream_si512((__m512i *)(to + i), _mm512_load_si512((const __m512i *)(from + i)));
    _mm_sfence();
}
