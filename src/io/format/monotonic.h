/* The time that passes, whatever happens to the clock on the wall. */
#ifndef IO_FORMAT_MONOTONIC_H
#define IO_FORMAT_MONOTONIC_H

/* Seconds since some moment. */
double monotonic_s(void);

#endif
