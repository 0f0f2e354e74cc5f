/* FMI 2.0.4 for co-simulation, as far as a unit needs it: types and calls, written down from the text of the standard (sections 2.1 and 4.2). */
#ifndef FMU_FMI2_API_H
#define FMU_FMI2_API_H

#include <stddef.h>

typedef void *fmi2Component;
typedef void *fmi2ComponentEnvironment;
typedef void *fmi2FMUstate;
typedef unsigned int fmi2ValueReference;
typedef double fmi2Real;
typedef int fmi2Integer;
typedef int fmi2Boolean;
typedef const char *fmi2String;
typedef char fmi2Byte;
enum { fmi2False = 0, fmi2True = 1 };

typedef enum { fmi2OK, fmi2Warning, fmi2Discard, fmi2Error, fmi2Fatal, fmi2Pending } fmi2Status;
typedef enum { fmi2ModelExchange, fmi2CoSimulation } fmi2Type;
typedef enum { fmi2DoStepStatus, fmi2PendingStatus, fmi2LastSuccessfulTime, fmi2Terminated } fmi2StatusKind;

typedef void (*fmi2CallbackLogger)(fmi2ComponentEnvironment, fmi2String instance, fmi2Status, fmi2String category,
                                   fmi2String message, ...);
typedef struct {
  fmi2CallbackLogger logger;
  void *(*allocateMemory)(size_t, size_t);
  void (*freeMemory)(void *);
  void (*stepFinished)(fmi2ComponentEnvironment, fmi2Status);
  fmi2ComponentEnvironment componentEnvironment;
} fmi2CallbackFunctions;

#define FMI2_EXPORT __attribute__((visibility("default")))

FMI2_EXPORT const char *fmi2GetTypesPlatform(void);
FMI2_EXPORT const char *fmi2GetVersion(void);
FMI2_EXPORT fmi2Status fmi2SetDebugLogging(fmi2Component, fmi2Boolean on, size_t count, const fmi2String categories[]);
FMI2_EXPORT fmi2Component fmi2Instantiate(fmi2String name, fmi2Type, fmi2String guid, fmi2String resources,
                                          const fmi2CallbackFunctions *, fmi2Boolean visible, fmi2Boolean logging);
FMI2_EXPORT void fmi2FreeInstance(fmi2Component);
FMI2_EXPORT fmi2Status fmi2SetupExperiment(fmi2Component, fmi2Boolean tolerance_defined, fmi2Real tolerance, fmi2Real start,
                                           fmi2Boolean stop_defined, fmi2Real stop);
FMI2_EXPORT fmi2Status fmi2EnterInitializationMode(fmi2Component);
FMI2_EXPORT fmi2Status fmi2ExitInitializationMode(fmi2Component);
FMI2_EXPORT fmi2Status fmi2Terminate(fmi2Component);
FMI2_EXPORT fmi2Status fmi2Reset(fmi2Component);
FMI2_EXPORT fmi2Status fmi2GetReal(fmi2Component, const fmi2ValueReference[], size_t, fmi2Real[]);
FMI2_EXPORT fmi2Status fmi2GetInteger(fmi2Component, const fmi2ValueReference[], size_t, fmi2Integer[]);
FMI2_EXPORT fmi2Status fmi2GetBoolean(fmi2Component, const fmi2ValueReference[], size_t, fmi2Boolean[]);
FMI2_EXPORT fmi2Status fmi2GetString(fmi2Component, const fmi2ValueReference[], size_t, fmi2String[]);
FMI2_EXPORT fmi2Status fmi2SetReal(fmi2Component, const fmi2ValueReference[], size_t, const fmi2Real[]);
FMI2_EXPORT fmi2Status fmi2SetInteger(fmi2Component, const fmi2ValueReference[], size_t, const fmi2Integer[]);
FMI2_EXPORT fmi2Status fmi2SetBoolean(fmi2Component, const fmi2ValueReference[], size_t, const fmi2Boolean[]);
FMI2_EXPORT fmi2Status fmi2SetString(fmi2Component, const fmi2ValueReference[], size_t, const fmi2String[]);
FMI2_EXPORT fmi2Status fmi2GetFMUstate(fmi2Component, fmi2FMUstate *);
FMI2_EXPORT fmi2Status fmi2SetFMUstate(fmi2Component, fmi2FMUstate);
FMI2_EXPORT fmi2Status fmi2FreeFMUstate(fmi2Component, fmi2FMUstate *);
FMI2_EXPORT fmi2Status fmi2SerializedFMUstateSize(fmi2Component, fmi2FMUstate, size_t *);
FMI2_EXPORT fmi2Status fmi2SerializeFMUstate(fmi2Component, fmi2FMUstate, fmi2Byte[], size_t);
FMI2_EXPORT fmi2Status fmi2DeSerializeFMUstate(fmi2Component, const fmi2Byte[], size_t, fmi2FMUstate *);
FMI2_EXPORT fmi2Status fmi2GetDirectionalDerivative(fmi2Component, const fmi2ValueReference[], size_t, const fmi2ValueReference[],
                                                    size_t, const fmi2Real[], fmi2Real[]);
FMI2_EXPORT fmi2Status fmi2SetRealInputDerivatives(fmi2Component, const fmi2ValueReference[], size_t, const fmi2Integer[],
                                                   const fmi2Real[]);
FMI2_EXPORT fmi2Status fmi2GetRealOutputDerivatives(fmi2Component, const fmi2ValueReference[], size_t, const fmi2Integer[],
                                                    fmi2Real[]);
FMI2_EXPORT fmi2Status fmi2DoStep(fmi2Component, fmi2Real now, fmi2Real size, fmi2Boolean no_going_back);
FMI2_EXPORT fmi2Status fmi2CancelStep(fmi2Component);
FMI2_EXPORT fmi2Status fmi2GetStatus(fmi2Component, const fmi2StatusKind, fmi2Status *);
FMI2_EXPORT fmi2Status fmi2GetRealStatus(fmi2Component, const fmi2StatusKind, fmi2Real *);
FMI2_EXPORT fmi2Status fmi2GetIntegerStatus(fmi2Component, const fmi2StatusKind, fmi2Integer *);
FMI2_EXPORT fmi2Status fmi2GetBooleanStatus(fmi2Component, const fmi2StatusKind, fmi2Boolean *);
FMI2_EXPORT fmi2Status fmi2GetStringStatus(fmi2Component, const fmi2StatusKind, fmi2String *);

#endif
