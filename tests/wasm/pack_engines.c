/* pack_engines FILE ...: engine files as C, for core_run.c, on standard output. Each is read back before it is believed. */
#include "io/config/engine_file.h"
#include "wasm/engine_numbers.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void write_engine(const char *path, int index) {
  static struct engine engine, again;
  static double numbers[ENGINE_NUMBERS_MAX];
  static struct error error;
  if (engine_file_read(path, &engine, &error) != STATUS_OK) {
    fprintf(stderr, "%s\n", error.text);
    exit(1);
  }
  const size_t count = engine_numbers_write(&engine, numbers);
  const bool read = engine_numbers_read(numbers, count, &again);
  memcpy(again.name, engine.name, sizeof again.name);
  memcpy(again.title, engine.title, sizeof again.title);
  if (!read || memcmp(&engine, &again, sizeof engine) != 0) {
    fprintf(stderr, "%s: the numbers do not give the same engine\n", path);
    exit(1);
  }
  printf("static const double numbers_%d[] = {", index);
  for (size_t i = 0; i < count; i++) printf("%s%a", i % 8 ? ", " : i ? ",\n  " : "\n  ", numbers[i]);
  printf("};\n#define NAME_%d \"%s\"\n\n", index, engine.name);
}

int main(int argc, char **argv) {
  printf("/* Made by pack_engines. */\n\n");
  for (int i = 1; i < argc; i++) write_engine(argv[i], i - 1);
  printf("static const struct packed_engine packed_engines[] = {\n");
  for (int i = 1; i < argc; i++)
    printf("  {NAME_%d, numbers_%d, sizeof numbers_%d / sizeof numbers_%d[0]},\n", i - 1, i - 1, i - 1, i - 1);
  printf("};\n");
  return 0;
}
