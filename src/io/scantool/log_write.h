/* What an instrument was answered, written as a file of one of the shapes. */
#ifndef IO_SCANTOOL_LOG_WRITE_H
#define IO_SCANTOOL_LOG_WRITE_H

#include "io/scantool/log_poll.h"
#include "io/scantool/log_shapes.h"

/* The file is whole or not there. What output_file gives, STATUS_NO_MEMORY, or STATUS_BAD_DATA if nothing was answered. */
MUST_CHECK enum status log_write(const char *path, const struct log_shape *shape, const struct log_poll *poll,
                                 const struct log_answers *answers, struct error *error);

#endif
