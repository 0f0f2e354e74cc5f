/* Before each file that gcc's and clang's analyzers read: they follow calls within one file only, and so cannot know that error_set() and
 * error_append() hand back a status that is not OK. Without this every `status = memory ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, ...)`
 * followed by `if (status == STATUS_OK)` would look as if the memory might be missing inside. */
#include "base/error.h"

#define error_set(error, status, ...)    ((void)!error_set((error), (status), __VA_ARGS__), (status))
#define error_append(error, status, ...) ((void)!error_append((error), (status), __VA_ARGS__), (status))
