/* One march element over a run of cache lines, compiled once per instruction
 * set by _march.c, which defines before each inclusion:
 *
 *   SUFFIX       appended to the function names
 *   TARGET       the target attribute of the instruction set
 *   VEC, PARTS   the vector type, and how many make up one 64-byte line
 *   LOAD(p)  STREAM(p, v)  XOR(a, b)  SPREAD(u64)  DIFFERS(a, b)
 *
 * What keeps the test in memory instead of in the cache:
 *   - a write is a non-temporal store of the whole line, which leaves no copy
 *     of the line in any cache;
 *   - an operation that follows a write to the same line waits (mfence) until
 *     that write has left the write-combining buffers, so w1,w0 is two writes
 *     and w1,r1 reads what was stored;
 *   - a read that follows a read of the same line flushes the line first;
 *   - a line left in the cache by a last read is flushed.
 */

#define PASTE2(a, b) a##b
#define PASTE(a, b) PASTE2(a, b)
#define NAMED(name) PASTE(name, SUFFIX)

/* Cold: one line came back wrong. Compares word by word and reads once more,
 * from memory, to tell a stored wrong value from a read that went wrong. */
static TARGET __attribute__((noinline, cold)) void
NAMED(wrong_line_)(struct job *job, uint64_t index, unsigned op, const VEC *expected, const VEC *got)
{
    const uint8_t *line = job->memory + (index << LINE_SHIFT);
    uint64_t wanted[WORDS], seen[WORDS], again[WORDS];
    memcpy(wanted, expected, LINE);
    memcpy(seen, got, LINE);
    job->flush(line);
    _mm_mfence();
    memcpy(again, line, LINE);
    for (unsigned word = 0; word < WORDS; word++) {
        if (wanted[word] == seen[word])
            continue;
        if (job->bad_words < job->limit)
            job->bad[job->bad_words] = (struct mismatch){
                index, word, op, wanted[word], seen[word], again[word],
            };
        job->bad_words++;
    }
}

static TARGET inline __attribute__((always_inline)) void
NAMED(one_line_)(struct job *job, const VEC pattern[2][PARTS], uint64_t key, uint64_t index)
{
    uint8_t *line = job->memory + (index << LINE_SHIFT);
    const VEC spread = SPREAD(key);
    int before = NOTHING;
    for (unsigned op = 0; op < job->n_ops; op++) {
        const unsigned code = job->ops[op];
        VEC wanted[PARTS], got[PARTS];
        for (int part = 0; part < PARTS; part++)
            wanted[part] = XOR(pattern[code & OP_BIT][part], spread);
        if (before != NOTHING) {
            if (before == READ && !(code & OP_WRITE))
                job->flush(line);
            if (before == WRITE || !(code & OP_WRITE))
                _mm_mfence();
        }
        if (code & OP_WRITE) {
            for (int part = 0; part < PARTS; part++)
                STREAM((VEC *)line + part, wanted[part]);
            before = WRITE;
        } else {
            int bad = 0;
            for (int part = 0; part < PARTS; part++) {
                got[part] = LOAD((const VEC *)line + part);
                bad |= DIFFERS(got[part], wanted[part]);
            }
            if (__builtin_expect(bad, 0))
                NAMED(wrong_line_)(job, index, op, wanted, got);
            before = READ;
        }
        if (__builtin_expect(job->log != NULL, 0)) {
            *job->log++ = index << 1 | (before == WRITE);
            memcpy(job->log, before == WRITE ? wanted : got, LINE);
            job->log += WORDS;
        }
    }
    if (before == READ)
        job->flush(line);
}

/* key_kind is a constant at every call, so each loop holds one key rule. */
static TARGET inline __attribute__((always_inline)) void
NAMED(all_lines_)(struct job *job, int key_kind)
{
    VEC pattern[2][PARTS];
    const uint64_t lines = job->lines, base = job->base, seed = job->seed;
    for (int word = 0; word < WORDS; word++) {
        ((uint64_t *)pattern[0])[word] = job->words[word];
        ((uint64_t *)pattern[1])[word] = ~job->words[word];
    }
    for (uint64_t done = 0; done < lines; done++) {
        const uint64_t index = job->first + (job->down ? lines - 1 - done : done);
        NAMED(one_line_)(job, pattern, line_key(key_kind, base + index, seed), index);
    }
    _mm_mfence();
}

static TARGET void
NAMED(march_)(struct job *job)
{
    switch (job->key_kind) {
    case KEY_ALTERNATE:
        NAMED(all_lines_)(job, KEY_ALTERNATE);
        break;
    case KEY_ADDRESS:
        NAMED(all_lines_)(job, KEY_ADDRESS);
        break;
    case KEY_RANDOM:
        NAMED(all_lines_)(job, KEY_RANDOM);
        break;
    default:
        NAMED(all_lines_)(job, KEY_NONE);
    }
}

#undef NAMED
#undef PASTE
#undef PASTE2
#undef SUFFIX
#undef TARGET
#undef VEC
#undef PARTS
#undef LOAD
#undef STREAM
#undef XOR
#undef SPREAD
#undef DIFFERS
