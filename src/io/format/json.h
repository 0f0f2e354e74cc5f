/* JSON results. The only file that knows the JSON library is json.c.
 *
 * A document is written with a cursor: open, put, close. Inside an object every item has a key, inside an
 * array the key is NULL. Failures (memory) are kept until json_print; nothing in between need be checked. */
#ifndef IO_FORMAT_JSON_H
#define IO_FORMAT_JSON_H

#include "base/error.h"

#include <stdbool.h>
#include <stdio.h>

struct json;

/* An empty object, cursor inside it. NULL if there is no memory; every call below takes that. */
MUST_CHECK struct json *json_create(void);
void json_destroy(struct json *json);

void json_open_object(struct json *json, const char *key);
void json_open_array(struct json *json, const char *key);
void json_close(struct json *json);

/* Bytes that are no UTF-8 (a file's name may hold any) become '?'. */
void json_put_text(struct json *json, const char *key, const char *text);
/* Rounded to so many decimals; null if not finite. */
void json_put_real(struct json *json, const char *key, double value, int decimals);
void json_put_count(struct json *json, const char *key, long long value);
void json_put_flag(struct json *json, const char *key, bool value);
void json_put_null(struct json *json, const char *key);

/* The whole document and a line's end; containers still open are closed. STATUS_NO_MEMORY or STATUS_IO. */
MUST_CHECK enum status json_print(struct json *json, FILE *stream, struct error *error);

#endif
