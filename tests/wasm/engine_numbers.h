/* An engine as a row of numbers, for programs that cannot read engine files: field by field in the order of engine_parts. Never a
 * copy of the struct, whose layout differs between 32 and 64 bit. */
#ifndef TESTS_WASM_ENGINE_NUMBERS_H
#define TESTS_WASM_ENGINE_NUMBERS_H

#include "car/engine.h"

enum { ENGINE_NUMBERS_MAX = 2000 };

/* How many numbers have been written. */
size_t engine_numbers_write(const struct engine *engine, double numbers[ENGINE_NUMBERS_MAX]);

/* Texts are left empty. False if the numbers are not those of an engine. */
MUST_CHECK bool engine_numbers_read(const double *numbers, size_t count, struct engine *engine);

#endif
