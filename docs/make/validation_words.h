/* The prose of docs/validation.md that no number hangs on. */
#ifndef DOCS_MAKE_VALIDATION_WORDS_H
#define DOCS_MAKE_VALIDATION_WORDS_H

extern const char validation_searched[], validation_unchecked[];

#endif
