#include "base/digest.h"

#include <string.h>

#define PRIME UINT64_C(0x100000001b3)

static uint64_t add_word(uint64_t digest, uint64_t word) {
  digest = (digest ^ word) * PRIME;
  return digest ^ digest >> 32;
}

uint64_t digest_add(uint64_t digest, const void *bytes, size_t size) {
  const char *at = bytes;
  uint64_t word;
  for (; size >= sizeof word; size -= sizeof word, at += sizeof word) {
    memcpy(&word, at, sizeof word);
    digest = add_word(digest, word);
  }
  word = 0;
  if (size) memcpy(&word, at, size);
  return size ? add_word(digest, word) : digest;
}
