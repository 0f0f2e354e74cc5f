/* Names that conditions and causes once had. Whoever writes one is told what it has become, never taken at a guess. The rows stand in
 * car/fault_rows.h. */
#ifndef CAR_FORMER_H
#define CAR_FORMER_H

/* What has become of a name, to be put behind "there is no such"; NULL for one that never was. A group and a point may stand before it. */
const char *former_name_now(const char *name);

#endif
