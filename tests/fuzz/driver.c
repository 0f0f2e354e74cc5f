/* Runs a fuzz target over files, where there is no fuzzer: what has once been found stays mended. */
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *bytes, size_t size);

int main(int argc, char **argv) {
  for (int i = 1; i < argc; i++) {
    FILE *file = fopen(argv[i], "rb");
    if (!file || fseek(file, 0, SEEK_END) != 0) return 66;
    const long size = ftell(file);
    rewind(file);
    uint8_t *bytes = malloc(size > 0 ? (size_t)size : 1); // so that a byte beyond it is found out
    if (!bytes || fread(bytes, 1, (size_t)size, file) != (size_t)size) return 66;
    fclose(file);
    (void)LLVMFuzzerTestOneInput(bytes, (size_t)size);
    free(bytes);
  }
  printf("%d inputs: good\n", argc - 1);
  return argc > 1 ? 0 : 66;
}
