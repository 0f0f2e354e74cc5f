/* FMI 2.0.4, co-simulation: each call to what it means of a component. */
#include "fmu/fmi2_api.h"

#include "fmu/component.h"

#include <stdlib.h>
#include <string.h>

static void pass_on(struct component *component, enum component_status status, const char *category, const char *text) {
  const fmi2CallbackFunctions *calls = component->logger;
  if (calls && calls->logger)
    calls->logger(calls->componentEnvironment, component->name, (fmi2Status)status, category, "%s", text);
}

const char *fmi2GetTypesPlatform(void) { return "default"; }
const char *fmi2GetVersion(void) { return "2.0"; }

fmi2Status fmi2SetDebugLogging(fmi2Component c, fmi2Boolean on, size_t count, const fmi2String categories[]) {
  if (!component_may(c, COMPONENT_ANY, "fmi2SetDebugLogging")) return fmi2Error;
  component_log(c, on, count, categories);
  return fmi2OK;
}

/* The importer's functions outlive the instance, says the standard; a copy does in any case. */
fmi2Component fmi2Instantiate(fmi2String name, fmi2Type type, fmi2String guid, fmi2String resources,
                              const fmi2CallbackFunctions *functions, fmi2Boolean visible, fmi2Boolean logging) {
  (void)visible;
  if (type != fmi2CoSimulation) return NULL;
  fmi2CallbackFunctions *copy = calloc(1, sizeof *copy);
  if (!copy) return NULL;
  if (functions) *copy = *functions;
  struct component *component = component_create(name, guid, resources, pass_on, NULL, copy, logging);
  if (!component) free(copy);
  return component;
}

void fmi2FreeInstance(fmi2Component c) {
  struct component *component = c;
  if (component) free(component->logger);
  component_destroy(component);
}

fmi2Status fmi2SetupExperiment(fmi2Component c, fmi2Boolean tolerance_defined, fmi2Real tolerance, fmi2Real start,
                               fmi2Boolean stop_defined, fmi2Real stop) {
  (void)tolerance_defined, (void)tolerance; // its steps are of one size
  if (!component_may(c, COMPONENT_BEFORE, "fmi2SetupExperiment")) return fmi2Error;
  return (fmi2Status)component_set_up(c, start, stop_defined, stop);
}

fmi2Status fmi2EnterInitializationMode(fmi2Component c) {
  if (!component_may(c, COMPONENT_BEFORE, "fmi2EnterInitializationMode")) return fmi2Error;
  ((struct component *)c)->phase = COMPONENT_INITIALIZING;
  return fmi2OK;
}

fmi2Status fmi2ExitInitializationMode(fmi2Component c) {
  return component_may(c, COMPONENT_IN_INITIALIZATION, "fmi2ExitInitializationMode") ? (fmi2Status)component_initialize(c)
                                                                                     : fmi2Error;
}

fmi2Status fmi2Terminate(fmi2Component c) {
  if (!component_may(c, COMPONENT_IN_STEPS, "fmi2Terminate")) return fmi2Error;
  ((struct component *)c)->phase = COMPONENT_TERMINATED;
  return fmi2OK;
}

fmi2Status fmi2Reset(fmi2Component c) {
  if (!component_may(c, COMPONENT_ANY, "fmi2Reset")) return fmi2Error;
  component_reset(c);
  return fmi2OK;
}

#define GET(Name, Type, unit_type) \
  fmi2Status fmi2Get##Name(fmi2Component c, const fmi2ValueReference references[], size_t count, Type values[]) { \
    if (!component_may(c, COMPONENT_ANY, "fmi2Get" #Name)) return fmi2Error; \
    enum component_status status = COMPONENT_OK; \
    for (size_t i = 0; i < count; i++) { \
      double value = 0.0; \
      status = component_worse(status, component_get(c, references[i], unit_type, &value)); \
      values[i] = (Type)value; \
    } \
    return (fmi2Status)status; \
  } \
  fmi2Status fmi2Set##Name(fmi2Component c, const fmi2ValueReference references[], size_t count, const Type values[]) { \
    if (!component_may(c, COMPONENT_SETTABLE, "fmi2Set" #Name)) return fmi2Error; \
    enum component_status status = COMPONENT_OK; \
    for (size_t i = 0; i < count; i++) \
      status = component_worse(status, component_set(c, references[i], unit_type, AS_VALUE(unit_type, values[i]))); \
    return (fmi2Status)status; \
  }
#define AS_VALUE(unit_type, value) ((unit_type) == UNIT_BOOLEAN ? (double)((value) != 0) : (double)(value))
GET(Real, fmi2Real, UNIT_REAL)
GET(Integer, fmi2Integer, UNIT_INTEGER)
GET(Boolean, fmi2Boolean, UNIT_BOOLEAN)

/* There are no texts. */
fmi2Status fmi2GetString(fmi2Component c, const fmi2ValueReference references[], size_t count, fmi2String values[]) {
  (void)c, (void)references, (void)values;
  return count == 0 ? fmi2OK : fmi2Error;
}
fmi2Status fmi2SetString(fmi2Component c, const fmi2ValueReference references[], size_t count, const fmi2String values[]) {
  (void)c, (void)references, (void)values;
  return count == 0 ? fmi2OK : fmi2Error;
}

fmi2Status fmi2GetFMUstate(fmi2Component c, fmi2FMUstate *state) {
  return component_may(c, COMPONENT_ANY, "fmi2GetFMUstate") ? (fmi2Status)component_state_take(c, state) : fmi2Error;
}
fmi2Status fmi2SetFMUstate(fmi2Component c, fmi2FMUstate state) {
  return component_may(c, COMPONENT_ANY, "fmi2SetFMUstate") ? (fmi2Status)component_state_put(c, state) : fmi2Error;
}
fmi2Status fmi2FreeFMUstate(fmi2Component c, fmi2FMUstate *state) {
  (void)c;
  if (state) free(*state), *state = NULL;
  return fmi2OK;
}
fmi2Status fmi2SerializedFMUstateSize(fmi2Component c, fmi2FMUstate state, size_t *size) {
  return component_may(c, COMPONENT_ANY, "fmi2SerializedFMUstateSize") ? (fmi2Status)component_state_size(c, state, size)
                                                                       : fmi2Error;
}
fmi2Status fmi2SerializeFMUstate(fmi2Component c, fmi2FMUstate state, fmi2Byte bytes[], size_t size) {
  return component_may(c, COMPONENT_ANY, "fmi2SerializeFMUstate") ? (fmi2Status)component_state_write(c, state, bytes, size)
                                                                  : fmi2Error;
}
fmi2Status fmi2DeSerializeFMUstate(fmi2Component c, const fmi2Byte bytes[], size_t size, fmi2FMUstate *state) {
  return component_may(c, COMPONENT_ANY, "fmi2DeSerializeFMUstate") ? (fmi2Status)component_state_read(c, bytes, size, state)
                                                                    : fmi2Error;
}

/* ---- What the description says it has not ---- */

fmi2Status fmi2GetDirectionalDerivative(fmi2Component c, const fmi2ValueReference unknowns[], size_t unknown_count,
                                        const fmi2ValueReference knowns[], size_t known_count, const fmi2Real known[],
                                        fmi2Real unknown[]) {
  (void)c, (void)unknowns, (void)unknown_count, (void)knowns, (void)known_count, (void)known, (void)unknown;
  return fmi2Error;
}
fmi2Status fmi2SetRealInputDerivatives(fmi2Component c, const fmi2ValueReference references[], size_t count,
                                       const fmi2Integer orders[], const fmi2Real values[]) {
  (void)c, (void)references, (void)count, (void)orders, (void)values;
  return fmi2Error;
}
fmi2Status fmi2GetRealOutputDerivatives(fmi2Component c, const fmi2ValueReference references[], size_t count,
                                        const fmi2Integer orders[], fmi2Real values[]) {
  (void)c, (void)references, (void)count, (void)orders, (void)values;
  return fmi2Error;
}
fmi2Status fmi2CancelStep(fmi2Component c) {
  (void)c;
  return fmi2Error; // no step is ever pending
}

/* ---- Steps ---- */

fmi2Status fmi2DoStep(fmi2Component c, fmi2Real now, fmi2Real size, fmi2Boolean no_going_back) {
  (void)no_going_back;
  return component_may(c, COMPONENT_IN_STEPS, "fmi2DoStep") ? (fmi2Status)component_step(c, now, size) : fmi2Error;
}

fmi2Status fmi2GetStatus(fmi2Component c, const fmi2StatusKind kind, fmi2Status *value) {
  (void)c, (void)kind, (void)value;
  return fmi2Discard; // only of a step that goes on by itself, which none does
}
fmi2Status fmi2GetRealStatus(fmi2Component c, const fmi2StatusKind kind, fmi2Real *value) {
  if (!component_may(c, COMPONENT_ANY, "fmi2GetRealStatus") || kind != fmi2LastSuccessfulTime) return fmi2Discard;
  *value = unit_time_s(((struct component *)c)->unit);
  return fmi2OK;
}
fmi2Status fmi2GetIntegerStatus(fmi2Component c, const fmi2StatusKind kind, fmi2Integer *value) {
  (void)c, (void)kind, (void)value;
  return fmi2Discard;
}
fmi2Status fmi2GetBooleanStatus(fmi2Component c, const fmi2StatusKind kind, fmi2Boolean *value) {
  if (!component_may(c, COMPONENT_ANY, "fmi2GetBooleanStatus") || kind != fmi2Terminated) return fmi2Discard;
  *value = fmi2False; // an engine that stands can be started again
  return fmi2OK;
}
fmi2Status fmi2GetStringStatus(fmi2Component c, const fmi2StatusKind kind, fmi2String *value) {
  (void)c, (void)kind, (void)value;
  return fmi2Discard;
}
