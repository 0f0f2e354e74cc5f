/* Reading a stream that may be a pipe. */
#ifndef IO_FORMAT_INPUT_FILE_H
#define IO_FORMAT_INPUT_FILE_H

#include <stdio.h>

/* fread() of bytes that goes on where a signal has interrupted it (EINTR), which a pipe may see; ferror() and errno tell of all else. */
size_t input_file_fill(FILE *stream, char *bytes, size_t size);

#endif
