/* Before each file that gcc's analyzer reads: it follows calls within one file only, and so cannot know that error_set() hands back the
 * status it was given. Without this every `status = memory ? STATUS_OK : error_set(error, STATUS_NO_MEMORY, ...)` followed by
 * `if (status == STATUS_OK)` would look as if the memory might be missing inside. */
#include "base/error.h"

#define error_set(error, status, ...) ((void)!error_set((error), (status), __VA_ARGS__), (status))
