/* Preloaded in front of the OpenGL library: hands the program other results than came, or none.
 *
 * DISTURB says what is done; "flip-hot" begins once the file HOT is there. */

#define _GNU_SOURCE
#include <dlfcn.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

typedef void reader(int, int, int, int, unsigned, unsigned, void *);

/* The load measures the driver first: some results of that time are compared with nothing. */
enum { MEASURING = 14 };

void
glReadPixels(int x, int y, int width, int height, unsigned format, unsigned type, void *pixels)
{
    static reader *real;
    static int calls;
    const char *what = getenv("DISTURB"), *hot = getenv("HOT");
    uint32_t *words = pixels;
    if (real == NULL) {
        void *library = dlopen("libGLESv2.so.2", RTLD_NOW);
        real = (reader *)dlsym(library, "glReadPixels");
    }
    real(x, y, width, height, format, type, pixels);
    calls++;
    if (what == NULL)
        return;
    if (strcmp(what, "hang") == 0 || (strcmp(what, "hang-later") == 0 && calls > MEASURING))
        pause();
    if (strcmp(what, "die") == 0 && calls > MEASURING)
        abort();
    if (strcmp(what, "flip") == 0 || (strcmp(what, "flip-once") == 0 && calls == MEASURING) ||
        (strcmp(what, "flip-hot") == 0 && hot != NULL && access(hot, F_OK) == 0))
        words[4 * 512 * 8 + 17] ^= 0x400;
}
