/* Numbers of a log, whatever marks their decimals and parts their thousands.
 *
 *   8.5  0,123  1,234.5        can be read in one way only, and so tell how the file writes
 *   1.234  1,234               can be either; the rest of the file must tell
 *   1 234  1'234               thousands are parted, whatever the decimal mark */
#ifndef ANALYSIS_LOG_LOG_NUMBER_H
#define ANALYSIS_LOG_LOG_NUMBER_H

#include <stdbool.h>

enum log_number_shape {
  LOG_NUMBER_NONE,         // not a number
  LOG_NUMBER_WHOLE,        // nothing but digits and a sign
  LOG_NUMBER_POINT,        // the decimal mark can only be a point
  LOG_NUMBER_COMMA,        // or only a comma
  LOG_NUMBER_EITHER_POINT, // 1.234
  LOG_NUMBER_EITHER_COMMA, // 1,234
  LOG_NUMBER_PARTED,       // 1 234
  LOG_NUMBER_SHAPE_COUNT
};

enum log_number_shape log_number_shape(const char *text);

/* Reads it with this decimal mark, '.' or ','. False if it is no number, or cannot be one with that mark. */
bool log_number_read(const char *text, char mark, double *value);

#endif
