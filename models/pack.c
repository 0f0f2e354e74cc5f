/* pack FILE.cfg ...: writes the engines as C to standard output, for src/library/shipped.h. The build runs it. */
#include "car/engine_pack.h"
#include "io/config/engine_file.h"

#include <stdio.h>
#include <stdlib.h>

/* As a string literal: octal for what may not stand there. */
static void put_text(const char *text) {
  putchar('"');
  for (; *text; text++)
    if (*text == '"' || *text == '\\' || *text == '?' || (unsigned char)*text < ' ' || (unsigned char)*text > '~')
      printf("\\%03o", (unsigned)(unsigned char)*text);
    else
      putchar(*text);
  putchar('"');
}

/* Hexadecimal, so that not a bit is lost. */
static void put_numbers(int index, const struct engine *engine, double *numbers) {
  const size_t count = engine_pack(engine, numbers);
  printf("static const double numbers_%d[] = {", index);
  for (size_t i = 0; i < count; i++) printf("%s%a,", i % 6 ? " " : "\n    ", numbers[i]);
  printf("\n};\n\n");
}

int main(int count, char **paths) {
  struct engine *engines = calloc((size_t)count, sizeof *engines);
  double *numbers = calloc(engine_pack_size(), sizeof *numbers);
  if (!engines || !numbers) return 1;
  printf("/* Made by models/pack.c from the engines of models/; change those. */\n#include \"library/shipped.h\"\n\n");
  for (int i = 1; i < count; i++) {
    struct error error;
    error_clear(&error);
    if (engine_file_read(paths[i], &engines[i], &error) != STATUS_OK) {
      fprintf(stderr, "%s\n", error.text);
      return 1;
    }
    put_numbers(i, &engines[i], numbers);
  }
  printf("const struct shipped_engine shipped_engines[] = {\n");
  for (int i = 1; i < count; i++) {
    printf("    {");
    put_text(engines[i].name);
    printf(", ");
    put_text(engines[i].title);
    printf(", numbers_%d, sizeof numbers_%d / sizeof numbers_%d[0]},\n", i, i, i);
  }
  printf("};\nconst size_t shipped_engine_count = sizeof shipped_engines / sizeof shipped_engines[0];\n");
  free(engines);
  free(numbers);
  return fflush(stdout) == 0 && !ferror(stdout) ? 0 : 1;
}
