/* FMI 3.0.2 for co-simulation: types and calls, written down from the text of the standard (sections 2.2, 2.3 and 4). A unit has real
 * numbers, 32-bit integers and booleans; the calls of the other types and interfaces are there, as importers look for all of them. */
#ifndef FMU_FMI3_API_H
#define FMU_FMI3_API_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef void *fmi3Instance;
typedef void *fmi3InstanceEnvironment;
typedef void *fmi3FMUState;
typedef uint32_t fmi3ValueReference;
typedef float fmi3Float32;
typedef double fmi3Float64;
typedef int8_t fmi3Int8;
typedef uint8_t fmi3UInt8;
typedef int16_t fmi3Int16;
typedef uint16_t fmi3UInt16;
typedef int32_t fmi3Int32;
typedef uint32_t fmi3UInt32;
typedef int64_t fmi3Int64;
typedef uint64_t fmi3UInt64;
typedef bool fmi3Boolean;
typedef const char *fmi3String;
typedef uint8_t fmi3Byte;
typedef const fmi3Byte *fmi3Binary;
typedef bool fmi3Clock;

typedef enum { fmi3OK, fmi3Warning, fmi3Discard, fmi3Error, fmi3Fatal } fmi3Status;
typedef int fmi3DependencyKind;
typedef int fmi3IntervalQualifier;

typedef void (*fmi3LogMessageCallback)(fmi3InstanceEnvironment, fmi3Status, fmi3String category, fmi3String message);
typedef void (*fmi3IntermediateUpdateCallback)(fmi3InstanceEnvironment, fmi3Float64, fmi3Boolean, fmi3Boolean, fmi3Boolean,
                                               fmi3Boolean, fmi3Boolean *, fmi3Float64 *);
typedef void (*fmi3ClockUpdateCallback)(fmi3InstanceEnvironment);
typedef void (*fmi3LockPreemptionCallback)(void);

#define FMI3_EXPORT __attribute__((visibility("default")))

FMI3_EXPORT const char *fmi3GetVersion(void);
FMI3_EXPORT fmi3Status fmi3SetDebugLogging(fmi3Instance, fmi3Boolean on, size_t count, const fmi3String categories[]);
FMI3_EXPORT fmi3Instance fmi3InstantiateModelExchange(fmi3String, fmi3String, fmi3String, fmi3Boolean, fmi3Boolean,
                                                      fmi3InstanceEnvironment, fmi3LogMessageCallback);
FMI3_EXPORT fmi3Instance fmi3InstantiateCoSimulation(fmi3String name, fmi3String token, fmi3String resources, fmi3Boolean visible,
                                                     fmi3Boolean logging, fmi3Boolean event_mode, fmi3Boolean early_return,
                                                     const fmi3ValueReference intermediate[], size_t intermediate_count,
                                                     fmi3InstanceEnvironment, fmi3LogMessageCallback,
                                                     fmi3IntermediateUpdateCallback);
FMI3_EXPORT fmi3Instance fmi3InstantiateScheduledExecution(fmi3String, fmi3String, fmi3String, fmi3Boolean, fmi3Boolean,
                                                           fmi3InstanceEnvironment, fmi3LogMessageCallback,
                                                           fmi3ClockUpdateCallback, fmi3LockPreemptionCallback,
                                                           fmi3LockPreemptionCallback);
FMI3_EXPORT void fmi3FreeInstance(fmi3Instance);
FMI3_EXPORT fmi3Status fmi3EnterInitializationMode(fmi3Instance, fmi3Boolean tolerance_defined, fmi3Float64 tolerance,
                                                   fmi3Float64 start, fmi3Boolean stop_defined, fmi3Float64 stop);
FMI3_EXPORT fmi3Status fmi3ExitInitializationMode(fmi3Instance);
FMI3_EXPORT fmi3Status fmi3EnterEventMode(fmi3Instance);
FMI3_EXPORT fmi3Status fmi3Terminate(fmi3Instance);
FMI3_EXPORT fmi3Status fmi3Reset(fmi3Instance);

/* Every type has its pair. */
#define FMI3_VALUES(ROW) \
  ROW(Float32) \
  ROW(Float64) ROW(Int8) ROW(UInt8) ROW(Int16) ROW(UInt16) ROW(Int32) ROW(UInt32) ROW(Int64) ROW(UInt64) ROW(Boolean) ROW(String)
#define FMI3_PAIR(Name) \
  FMI3_EXPORT fmi3Status fmi3Get##Name(fmi3Instance, const fmi3ValueReference[], size_t, fmi3##Name[], size_t value_count); \
  FMI3_EXPORT fmi3Status fmi3Set##Name(fmi3Instance, const fmi3ValueReference[], size_t, const fmi3##Name[], size_t value_count);
FMI3_VALUES(FMI3_PAIR)
FMI3_EXPORT fmi3Status fmi3GetBinary(fmi3Instance, const fmi3ValueReference[], size_t, size_t[], fmi3Binary[], size_t);
FMI3_EXPORT fmi3Status fmi3SetBinary(fmi3Instance, const fmi3ValueReference[], size_t, const size_t[], const fmi3Binary[],
                                     size_t);
FMI3_EXPORT fmi3Status fmi3GetClock(fmi3Instance, const fmi3ValueReference[], size_t, fmi3Clock[]);
FMI3_EXPORT fmi3Status fmi3SetClock(fmi3Instance, const fmi3ValueReference[], size_t, const fmi3Clock[]);

FMI3_EXPORT fmi3Status fmi3GetNumberOfVariableDependencies(fmi3Instance, fmi3ValueReference, size_t *);
FMI3_EXPORT fmi3Status fmi3GetVariableDependencies(fmi3Instance, fmi3ValueReference, size_t[], fmi3ValueReference[], size_t[],
                                                   fmi3DependencyKind[], size_t);
FMI3_EXPORT fmi3Status fmi3GetFMUState(fmi3Instance, fmi3FMUState *);
FMI3_EXPORT fmi3Status fmi3SetFMUState(fmi3Instance, fmi3FMUState);
FMI3_EXPORT fmi3Status fmi3FreeFMUState(fmi3Instance, fmi3FMUState *);
FMI3_EXPORT fmi3Status fmi3SerializedFMUStateSize(fmi3Instance, fmi3FMUState, size_t *);
FMI3_EXPORT fmi3Status fmi3SerializeFMUState(fmi3Instance, fmi3FMUState, fmi3Byte[], size_t);
FMI3_EXPORT fmi3Status fmi3DeserializeFMUState(fmi3Instance, const fmi3Byte[], size_t, fmi3FMUState *);
FMI3_EXPORT fmi3Status fmi3GetDirectionalDerivative(fmi3Instance, const fmi3ValueReference[], size_t, const fmi3ValueReference[],
                                                    size_t, const fmi3Float64[], size_t, fmi3Float64[], size_t);
FMI3_EXPORT fmi3Status fmi3GetAdjointDerivative(fmi3Instance, const fmi3ValueReference[], size_t, const fmi3ValueReference[],
                                                size_t, const fmi3Float64[], size_t, fmi3Float64[], size_t);
FMI3_EXPORT fmi3Status fmi3EnterConfigurationMode(fmi3Instance);
FMI3_EXPORT fmi3Status fmi3ExitConfigurationMode(fmi3Instance);
FMI3_EXPORT fmi3Status fmi3GetIntervalDecimal(fmi3Instance, const fmi3ValueReference[], size_t, fmi3Float64[],
                                              fmi3IntervalQualifier[]);
FMI3_EXPORT fmi3Status fmi3GetIntervalFraction(fmi3Instance, const fmi3ValueReference[], size_t, fmi3UInt64[], fmi3UInt64[],
                                               fmi3IntervalQualifier[]);
FMI3_EXPORT fmi3Status fmi3GetShiftDecimal(fmi3Instance, const fmi3ValueReference[], size_t, fmi3Float64[]);
FMI3_EXPORT fmi3Status fmi3GetShiftFraction(fmi3Instance, const fmi3ValueReference[], size_t, fmi3UInt64[], fmi3UInt64[]);
FMI3_EXPORT fmi3Status fmi3SetIntervalDecimal(fmi3Instance, const fmi3ValueReference[], size_t, const fmi3Float64[]);
FMI3_EXPORT fmi3Status fmi3SetIntervalFraction(fmi3Instance, const fmi3ValueReference[], size_t, const fmi3UInt64[],
                                               const fmi3UInt64[]);
FMI3_EXPORT fmi3Status fmi3SetShiftDecimal(fmi3Instance, const fmi3ValueReference[], size_t, const fmi3Float64[]);
FMI3_EXPORT fmi3Status fmi3SetShiftFraction(fmi3Instance, const fmi3ValueReference[], size_t, const fmi3UInt64[],
                                            const fmi3UInt64[]);
FMI3_EXPORT fmi3Status fmi3EvaluateDiscreteStates(fmi3Instance);
FMI3_EXPORT fmi3Status fmi3UpdateDiscreteStates(fmi3Instance, fmi3Boolean *, fmi3Boolean *, fmi3Boolean *, fmi3Boolean *,
                                                fmi3Boolean *, fmi3Float64 *);
FMI3_EXPORT fmi3Status fmi3EnterContinuousTimeMode(fmi3Instance);
FMI3_EXPORT fmi3Status fmi3CompletedIntegratorStep(fmi3Instance, fmi3Boolean, fmi3Boolean *, fmi3Boolean *);
FMI3_EXPORT fmi3Status fmi3SetTime(fmi3Instance, fmi3Float64);
FMI3_EXPORT fmi3Status fmi3SetContinuousStates(fmi3Instance, const fmi3Float64[], size_t);
FMI3_EXPORT fmi3Status fmi3GetContinuousStateDerivatives(fmi3Instance, fmi3Float64[], size_t);
FMI3_EXPORT fmi3Status fmi3GetEventIndicators(fmi3Instance, fmi3Float64[], size_t);
FMI3_EXPORT fmi3Status fmi3GetContinuousStates(fmi3Instance, fmi3Float64[], size_t);
FMI3_EXPORT fmi3Status fmi3GetNominalsOfContinuousStates(fmi3Instance, fmi3Float64[], size_t);
FMI3_EXPORT fmi3Status fmi3GetNumberOfEventIndicators(fmi3Instance, size_t *);
FMI3_EXPORT fmi3Status fmi3GetNumberOfContinuousStates(fmi3Instance, size_t *);
FMI3_EXPORT fmi3Status fmi3EnterStepMode(fmi3Instance);
FMI3_EXPORT fmi3Status fmi3GetOutputDerivatives(fmi3Instance, const fmi3ValueReference[], size_t, const fmi3Int32[],
                                                fmi3Float64[], size_t);
FMI3_EXPORT fmi3Status fmi3DoStep(fmi3Instance, fmi3Float64 now, fmi3Float64 size, fmi3Boolean no_going_back,
                                  fmi3Boolean *event_wanted, fmi3Boolean *terminate, fmi3Boolean *early, fmi3Float64 *last);
FMI3_EXPORT fmi3Status fmi3ActivateModelPartition(fmi3Instance, fmi3ValueReference, fmi3Float64);

#endif
