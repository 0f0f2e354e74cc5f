#include "library/bladegap.h"

#include "base/error.h"

/* Codes are the program's. */
#define STATUS(name, code, text) CODE_##name = code,
enum { STATUS_LIST(STATUS) };
#undef STATUS
_Static_assert((int)BLADEGAP_USAGE == (int)CODE_USAGE && (int)BLADEGAP_BAD_DATA == (int)CODE_BAD_DATA &&
                   (int)BLADEGAP_INTERNAL == (int)CODE_INTERNAL && (int)BLADEGAP_NO_MEMORY == (int)CODE_NO_MEMORY &&
                   (int)BLADEGAP_BAD_CONFIG == (int)CODE_BAD_CONFIG,
               "codes of bladegap.h are those of base/status.h");
_Static_assert((int)BLADEGAP_ERROR_SIZE == (int)ERROR_TEXT_SIZE, "every text fits");

const char *bladegap_version(void) { return BLADEGAP_VERSION; }
