/* Saved maps of columns before any bytes. What must hold: every header that was taken in is found again; a refusal has its sentence. */
#include "analysis/log/log_map.h"

#include <assert.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size) {
  struct log_map map = {0};
  struct error error;
  error_clear(&error);
  if (log_map_add_table(&map, "map", (const char *)bytes, size, &error) != STATUS_OK) assert(error.text[0] != '\0');
  for (size_t i = 0; i < map.count; i++) assert(log_map_find(&map, map.rows[i].header));
  char *pair = malloc(size + 1);
  memcpy(pair, bytes, size);
  pair[size] = '\0';
  error_clear(&error);
  if (log_map_add(&map, pair, &error) != STATUS_OK) assert(error.text[0] != '\0');
  free(pair);
  log_map_destroy(&map);
  return 0;
}
