/* How unsteady the idle is: standard deviation of speed over a window, a slow drift taken off. */
#ifndef SIM_ROUGHNESS_H
#define SIM_ROUGHNESS_H

/* window: a ring of `size` speeds, into which `written` have gone in all. The newest min(size, written) count; a straight line
 * is fitted and taken off, so that a droop or a run-up is not called rough. 0 for fewer than three. */
double roughness_rad_s(const double *window, long size, long written);

#endif
