/* Preloaded before a program: the allocation whose number stands in FAIL_ALLOCATION (1 is the first) gives NULL; with a + behind the number, all
 * later ones do too. With COUNT_ALLOCATIONS=FILE the number of allocations is written there at the end. Those of
 * libconfig 1.5 and SUNDIALS 6.4 are neither counted nor failed: they do not look at what they get (config_setting_set_float_elem; N_VClone,
 * SUNLogger_Create) and crash, which only their makers can mend. glibc: __libc_malloc and its kin are what malloc stands for. */
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *old, size_t size);

static atomic_ulong seen;
static unsigned long wanted;
static bool and_later;

__attribute__((constructor)) static void begin(void) {
  const char *text = getenv("FAIL_ALLOCATION");
  char *end = NULL;
  if (text) wanted = strtoul(text, &end, 10);
  and_later = end && *end == '+';
  unsetenv("LD_PRELOAD"); // what the program starts is let alone
  atomic_store(&seen, 0);
}

__attribute__((destructor)) static void end(void) {
  const char *path = getenv("COUNT_ALLOCATIONS");
  char text[32];
  if (!path) return;
  const int size = snprintf(text, sizeof text, "%lu\n", atomic_load(&seen));
  const int file = open(path, O_WRONLY | O_CREAT | O_TRUNC, 0666);
  if (file < 0 || write(file, text, (size_t)size) < 0) return;
  close(file);
}

static bool fails(const void *caller) {
  Dl_info info;
  if (dladdr(caller, &info) && info.dli_fname && (strstr(info.dli_fname, "libconfig") || strstr(info.dli_fname, "libsundials")))
    return false;
  const unsigned long number = atomic_fetch_add(&seen, 1) + 1;
  if (!wanted || number < wanted || (!and_later && number > wanted)) return false;
  errno = ENOMEM;
  return true;
}

void *malloc(size_t size) { return fails(__builtin_return_address(0)) ? NULL : __libc_malloc(size); }
void *calloc(size_t count, size_t size) { return fails(__builtin_return_address(0)) ? NULL : __libc_calloc(count, size); }
void *realloc(void *old, size_t size) { return fails(__builtin_return_address(0)) ? NULL : __libc_realloc(old, size); }

char *strdup(const char *text) {
  const size_t size = strlen(text) + 1;
  char *copy = fails(__builtin_return_address(0)) ? NULL : __libc_malloc(size);
  return copy ? memcpy(copy, text, size) : NULL;
}
