#include "fmu/resource.h"

#include "base/digest.h"
#include "car/engine_pack.h"

#include <inttypes.h>
#include <stdlib.h>
#include <string.h>

static const char head[] = "bladegap-unit 1\n";
enum { LINE_SIZE = 512 };

void resource_write(const struct engine *engine, FILE *stream) {
  double *numbers = malloc(engine_pack_size() * sizeof *numbers);
  const size_t count = numbers ? engine_pack(engine, numbers) : 0; // of nothing: refused when it is read
  fprintf(stream, "%s%s\n%s\n%zu\n", head, engine->name, engine->title, count);
  for (size_t i = 0; i < count; i++) {
    uint64_t bits;
    memcpy(&bits, &numbers[i], sizeof bits);
    fprintf(stream, "%016" PRIx64 "\n", bits);
  }
  fprintf(stream, "digest %016" PRIx64 "\n", digest_add(DIGEST_OF_NOTHING, numbers, count * sizeof *numbers));
  free(numbers);
}

/* A line without its end; false if there is none, or it is too long. */
static bool take_line(FILE *file, char line[LINE_SIZE]) {
  if (!fgets(line, LINE_SIZE, file)) return false;
  char *end = strchr(line, '\n');
  if (end) *end = '\0';
  return end != NULL;
}

static bool take_numbers(FILE *file, size_t count, double *numbers) {
  char line[LINE_SIZE];
  for (size_t i = 0; i < count; i++) {
    char *end;
    if (!take_line(file, line) || strlen(line) != 16) return false;
    const uint64_t bits = strtoull(line, &end, 16);
    if (*end) return false;
    memcpy(&numbers[i], &bits, sizeof bits);
  }
  char wanted[LINE_SIZE];
  snprintf(wanted, sizeof wanted, "digest %016" PRIx64, digest_add(DIGEST_OF_NOTHING, numbers, count * sizeof *numbers));
  return take_line(file, line) && strcmp(line, wanted) == 0;
}

static bool take(FILE *file, struct engine *engine, double *numbers) {
  char line[LINE_SIZE], name[LINE_SIZE], title[LINE_SIZE], *end;
  if (!take_line(file, line) || strncmp(line, head, strlen(line)) != 0) return false;
  if (!take_line(file, name) || !take_line(file, title) || !take_line(file, line)) return false;
  const unsigned long count = strtoul(line, &end, 10);
  if (*end || count == 0 || count > engine_pack_size() || !take_numbers(file, count, numbers)) return false;
  if (!engine_pack_undo(numbers, count, engine)) return false;
  snprintf(engine->name, sizeof engine->name, "%.*s", (int)sizeof engine->name - 1, name);
  snprintf(engine->title, sizeof engine->title, "%.*s", (int)sizeof engine->title - 1, title);
  return true;
}

enum status resource_read(const char *folder, struct engine *engine, struct error *error) {
  char path[RESOURCE_PATH_SIZE + sizeof RESOURCE_NAME + 1];
  snprintf(path, sizeof path, "%s/%s", folder, RESOURCE_NAME);
  FILE *file = fopen(path, "rbe");
  if (!file) return error_set(error, STATUS_NO_INPUT, "%s cannot be read: it belongs in the unit's folder resources", path);
  double *numbers = malloc(engine_pack_size() * sizeof *numbers);
  memset(engine, 0, sizeof *engine);
  const bool good = numbers && take(file, engine, numbers);
  free(numbers);
  fclose(file);
  return good ? STATUS_OK : error_set(error, STATUS_BAD_DATA, "%s is not the whole engine of a unit of this version", path);
}

static int digit_of(char c) {
  static const char digits[] = "0123456789abcdef";
  const char low = c >= 'A' && c <= 'F' ? (char)(c + ('a' - 'A')) : c;
  const char *at = low ? strchr(digits, low) : NULL;
  return at ? (int)(at - digits) : -1;
}

enum status resource_folder(const char *location, char folder[RESOURCE_PATH_SIZE], struct error *error) {
  if (!location || !*location) return error_set(error, STATUS_USAGE, "the importer has not said where the resources are");
  const bool is_uri = strncmp(location, "file:", 5) == 0;
  const char *at = location + (is_uri ? 5 : 0);
  if (is_uri && strncmp(at, "//", 2) == 0) { // an authority: none, or this machine
    at += 2;
    if (strncmp(at, "localhost/", 10) == 0) at += 9;
  }
  if (*at != '/') return error_set(error, STATUS_USAGE, "'%s' is not the place of a file on this machine", location);
  size_t size = 0;
  for (; *at; at++) {
    char c = *at;
    if (is_uri && c == '%' && digit_of(at[1]) >= 0 && digit_of(at[2]) >= 0) {
      c = (char)(16 * digit_of(at[1]) + digit_of(at[2]));
      at += 2;
    }
    if (size + 1 >= RESOURCE_PATH_SIZE) return error_set(error, STATUS_USAGE, "the path of the resources is too long");
    folder[size++] = c;
  }
  while (size > 1 && folder[size - 1] == '/') size--;
  folder[size] = '\0';
  return STATUS_OK;
}
