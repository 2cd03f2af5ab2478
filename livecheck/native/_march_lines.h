/* One march element over a run of cache lines, compiled once per instruction
 * set by _march.c, which defines before each inclusion:
 *
 *   SUFFIX       appended to the function names
 *   TARGET       the target attribute of the instruction set
 *   VEC, PARTS   the vector type, and how many make up one 64-byte line
 *   LOAD(p)  STORE(p, v) unaligned  STREAM(p, v)  XOR(a, b)  OR(a, b)  SPREAD(u64)  ANY(v) bit set
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

/* Kept in registers: its address is never taken outside the cold path. */
struct NAMED(line_) {
    VEC part[PARTS];
};

/* Cold: one line came back wrong. Compares word by word and reads once more,
 * from memory, to tell a stored wrong value from a read that went wrong. */
static TARGET __attribute__((noinline, cold)) void
NAMED(wrong_line_)(struct job *job, uint64_t index, unsigned op, struct NAMED(line_) expected,
                   struct NAMED(line_) got)
{
    uint8_t *line = job->memory + (index << LINE_SHIFT);
    uint64_t wanted[WORDS], seen[WORDS], again[WORDS];
    memcpy(wanted, &expected, LINE);
    memcpy(seen, &got, LINE);
    flush_line(line, job->unordered);
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

/* Operation number op at one line. write and before are constants wherever
 * the loop must be fast; what is left then is a load, a compare and a store. */
static TARGET inline __attribute__((always_inline)) void
NAMED(one_op_)(struct job *job, const struct NAMED(line_) *pattern, VEC spread, uint64_t index,
               unsigned op, int write, int before, uint64_t **log)
{
    uint8_t *line = job->memory + (index << LINE_SHIFT);
    struct NAMED(line_) wanted, moved;
    for (int part = 0; part < PARTS; part++)
        wanted.part[part] = XOR(pattern->part[part], spread);
    if (before == READ && !write)
        flush_line(line, job->unordered);
    if (before == WRITE || (before == READ && !write))
        _mm_mfence();
    if (write) {
        for (int part = 0; part < PARTS; part++)
            STREAM((VEC *)line + part, wanted.part[part]);
        moved = wanted;
    } else {
        VEC flipped = SPREAD(0);
        for (int part = 0; part < PARTS; part++) {
            moved.part[part] = LOAD((const VEC *)line + part);
            flipped = OR(flipped, XOR(moved.part[part], wanted.part[part]));
        }
        if (__builtin_expect(ANY(flipped), 0))
            NAMED(wrong_line_)(job, index, op, wanted, moved);
    }
    if (__builtin_expect(*log != NULL, 0)) {
        *(*log)++ = index << 1 | (uint64_t)write;
        for (int part = 0; part < PARTS; part++, *log += WORDS / PARTS)
            STORE((VEC *)*log, moved.part[part]);
    }
}

/* shape and key_kind are constants at every call: each loop does one thing. */
static TARGET inline __attribute__((always_inline)) void
NAMED(all_lines_)(struct job *job, int shape, int key_kind)
{
    struct NAMED(line_) pattern[2];
    uint64_t inverse[WORDS];
    for (int word = 0; word < WORDS; word++)
        inverse[word] = ~job->words[word];
    memcpy(&pattern[0], job->words, LINE);
    memcpy(&pattern[1], inverse, LINE);
    const struct NAMED(line_) first = pattern[job->bits & 1], second = pattern[job->bits >> 1 & 1];
    const uint64_t lines = job->lines, base = job->base, seed = job->seed, step = job->down ? -1 : 1;
    uint64_t index = job->down ? job->first + lines - 1 : job->first;
    uint64_t *log = job->log;
#pragma GCC unroll 4
    for (uint64_t done = 0; done < lines; done++, index += step) {
        const VEC spread = SPREAD(line_key(key_kind, base + index, seed));
        int before = NOTHING;
        if (shape == SHAPE_WRITE) {
            NAMED(one_op_)(job, &first, spread, index, 0, 1, NOTHING, &log);
        } else if (shape == SHAPE_READ_WRITE) {
            NAMED(one_op_)(job, &first, spread, index, 0, 0, NOTHING, &log);
            NAMED(one_op_)(job, &second, spread, index, 1, 1, READ, &log);
        } else {
            for (unsigned op = 0; op < job->n_ops; op++) {
                const int write = job->writes >> op & 1;
                NAMED(one_op_)(job, &pattern[job->bits >> op & 1], spread, index, op, write,
                               before, &log);
                before = write ? WRITE : READ;
            }
            if (before == READ)
                flush_line(job->memory + (index << LINE_SHIFT), job->unordered);
        }
    }
    _mm_mfence();
}

static TARGET inline __attribute__((always_inline)) void
NAMED(any_element_)(struct job *job, int key_kind)
{
    if (job->n_ops == 1 && job->writes == 1)
        NAMED(all_lines_)(job, SHAPE_WRITE, key_kind);
    else if (job->n_ops == 2 && job->writes == 2)
        NAMED(all_lines_)(job, SHAPE_READ_WRITE, key_kind);
    else
        NAMED(all_lines_)(job, SHAPE_ANY, key_kind);
}

static TARGET void
NAMED(march_)(struct job *job)
{
    switch (job->key_kind) {
    case KEY_ALTERNATE:
        NAMED(any_element_)(job, KEY_ALTERNATE);
        break;
    case KEY_ADDRESS:
        NAMED(any_element_)(job, KEY_ADDRESS);
        break;
    case KEY_RANDOM:
        NAMED(any_element_)(job, KEY_RANDOM);
        break;
    default:
        NAMED(any_element_)(job, KEY_NONE);
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
#undef STORE
#undef STREAM
#undef XOR
#undef SPREAD
#undef OR
#undef ANY
