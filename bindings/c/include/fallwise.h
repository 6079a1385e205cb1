/* fallwise from C: how a drain falls, where it holds water and whether it meets its slope rule.
 *
 * Made from the sources of the binding by a test; do not edit. bindings/c/README.md is the guide.
 *
 * What holds of every function:
 *
 * - Units are SI and radians; names say which. Station grows along the pipe; tilt is positive down towards growing
 *   station; slopes and falls are along the flow; heights are of the invert above the lowest station, elevations in
 *   the job's datum. NaN is "absent" or "not determined".
 * - It returns fw_status, and takes a caller's fw_error last, or NULL. Outputs are written only where it returns
 *   FW_OK; but for `*needed`, which FW_BUFFER_TOO_SMALL writes too.
 * - Pointers must point to what their type says, for as long as the call runs. A NULL where none may be is
 *   FW_NULL_POINTER. Nothing that is given is kept when the call returns, but where it says so.
 * - Texts that go in are UTF-8 with their length in bytes; no NUL is needed behind them. Texts that come out go into
 *   the caller's buffer, UTF-8 with a NUL behind: `*needed` becomes how many bytes that takes. A buffer that is NULL
 *   with a capacity of 0 only asks, and that is FW_OK. Arrays alike, without the NUL.
 * - Structs begin with `struct_size`, set by the caller to their sizeof (options: by their _init function), so that
 *   they may grow.
 * - Numbers of an enumeration go in as uint32_t; one without a meaning is FW_BAD_VALUE.
 * - Handles (fw_job *, fw_lateral * and so on) belong to the caller, who frees each once by its _free function, which
 *   takes NULL too. None depends on another: they may be freed in any order.
 * - Any thread may call anything. A handle may be used by several threads at once where nothing changes it: functions
 *   that take it as const. Who changes or frees it must be alone with it.
 * - No panic of the library crosses the border (FW_PANIC), and no callback may throw or jump across it.
 */

#ifndef FALLWISE_H
#define FALLWISE_H

#include <stddef.h>
#include <stdint.h>

/* Version of this header. fw_version() has that of the library that runs. */
#define FW_VERSION_MAJOR 0
#define FW_VERSION_MINOR 1
#define FW_VERSION_PATCH 0
/* MAJOR * 10000 + MINOR * 100 + PATCH */
#define FW_VERSION_NUMBER 100
#define FW_VERSION_STRING "0.1.0"

/**
 * What the head shows as positive: FW_TILT_POSITIVE_..., or this for what the runs have.
 */
#define FW_AS_IN_THE_RUNS 4294967295

/**
 * Version of the binary interface: programs built against a header with this number run with any library that has it.
 * It is raised when a function is taken away or changes, or a struct changes but by growing at its end.
 */
#define FW_ABI_VERSION 0

/**
 * A bit of fw_features: jobs from text and folders, results read back, CSV, drawings and map.
 */
#define FW_FEATURE_FILES 1

/**
 * A bit of fw_features: pages and pictures.
 */
#define FW_FEATURE_REPORT 2

/**
 * What a call ends with. 0 is success. Numbers stand in blocks and never change their meaning; a newer library may
 * return numbers that this header does not have: take what you do not know for a failure.
 *
 * 1 to 99: the call itself; 100 to 199: the input; 200 to 299: files and texts; 300 to 399: there is no such figure;
 * 400 to 499: the caller said stop; 900 to 999: a fault of the library.
 */
enum fw_status
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : int32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * Done.
     */
    FW_OK = 0,
    /**
     * A pointer that must point somewhere is NULL, or is not aligned for what it points to.
     */
    FW_NULL_POINTER = 1,
    /**
     * A text is not UTF-8.
     */
    FW_BAD_UTF8 = 2,
    /**
     * An argument has a value that it cannot have: an enumerated number without a meaning, a length beyond all memory,
     * a number that is not finite.
     */
    FW_BAD_VALUE = 3,
    /**
     * `struct_size` is not the size of any form of the struct: it was not set.
     */
    FW_BAD_STRUCT_SIZE = 4,
    /**
     * The buffer is too small; `*needed` says how large it must be. Nothing else was written.
     */
    FW_BUFFER_TOO_SMALL = 5,
    /**
     * There is no row, segment or the like of that index.
     */
    FW_OUT_OF_RANGE = 6,
    /**
     * There is no table, column or key of that name.
     */
    FW_UNKNOWN_NAME = 7,
    /**
     * An array or text is empty where something must be there.
     */
    FW_EMPTY = 8,
    /**
     * This library was built without what the call needs: see `fw_features`.
     */
    FW_NOT_BUILT = 9,
    /**
     * An input that cannot be used.
     */
    FW_INPUT = 100,
    /**
     * A word that is none of those known.
     */
    FW_UNKNOWN_WORD = 101,
    /**
     * A tie that cannot be used.
     */
    FW_TIE = 102,
    /**
     * Runs or ties that contradict each other.
     */
    FW_CONTRADICTION = 103,
    /**
     * A rulebook that cannot be read.
     */
    FW_RULEBOOK = 104,
    /**
     * A station that was not surveyed.
     */
    FW_NOT_SURVEYED = 105,
    /**
     * JSON that is none, or does not fit what it is for.
     */
    FW_JSON = 106,
    /**
     * A text or file that is not of the form it should be: file, row or line and column are in the error.
     */
    FW_FORMAT = 200,
    /**
     * There is no such file.
     */
    FW_FILE_MISSING = 201,
    /**
     * The operating system refused a file.
     */
    FW_FILE = 202,
    /**
     * Larger than the limit that was set.
     */
    FW_TOO_LARGE = 203,
    /**
     * The resolver said that it cannot give a file.
     */
    FW_RESOLVER = 204,
    /**
     * There is no such figure: not measured, or nothing but drops between the stations.
     */
    FW_NOT_DETERMINED = 300,
    /**
     * The progress callback said stop.
     */
    FW_CANCELLED = 400,
    /**
     * The sink said stop.
     */
    FW_SINK = 401,
    /**
     * A page could not be filled.
     */
    FW_REPORT = 900,
    /**
     * The library broke its word not to panic. Please report it. Free the handles that took part in the call; use them
     * no more.
     */
    FW_PANIC = 901,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_status fw_status;
#else
typedef int32_t fw_status;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * A log or a station may have its sign or its direction either way.
 */
enum fw_tilt_positive
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * The log gives a head that looks down a positive reading.
     */
    FW_TILT_POSITIVE_DOWN = 0,
    /**
     * The log gives a head that looks up a positive reading.
     */
    FW_TILT_POSITIVE_UP = 1,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_tilt_positive fw_tilt_positive;
#else
typedef uint32_t fw_tilt_positive;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * Which way a run goes.
 */
enum fw_toward
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * Station grows with the counter.
     */
    FW_TOWARD_INCREASING = 0,
    /**
     * Station falls as the counter grows.
     */
    FW_TOWARD_DECREASING = 1,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_toward fw_toward;
#else
typedef uint32_t fw_toward;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * How the edge of water was seen.
 */
enum fw_seen
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * As the line where water meets the pipe.
     */
    FW_SEEN_EDGE = 0,
    /**
     * As the lens went under or came out: sharper.
     */
    FW_SEEN_LENS = 1,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_seen fw_seen;
#else
typedef uint32_t fw_seen;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * What a progress callback is told is being done next.
 */
enum fw_stage
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * Logs become traces.
     */
    FW_STAGE_CONDITIONING = 0,
    /**
     * Segments are found.
     */
    FW_STAGE_SEGMENTS = 1,
    /**
     * The average over segmentations is made.
     */
    FW_STAGE_AVERAGING = 2,
    /**
     * Everything that is known is put together.
     */
    FW_STAGE_ADJUSTING = 3,
    /**
     * Profiles are drawn: for pools, findings, measurements to come.
     */
    FW_STAGE_DRAWING = 4,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_stage fw_stage;
#else
typedef uint32_t fw_stage;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * What two surveys have in common beside the pipe.
 */
enum fw_shared
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * Nothing: different heads, or one that was repaired, dropped or set anew between them.
     */
    FW_SHARED_NOTHING = 0,
    /**
     * The zero error: one head, with nothing done to it between them.
     */
    FW_SHARED_ZERO = 1,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_shared fw_shared;
#else
typedef uint32_t fw_shared;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * What fw_section gives.
 */
enum fw_section_of
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * Area of the water, m2.
     */
    FW_SECTION_AREA_M2 = 0,
    /**
     * Integral of the area over depth, m3: the volume of a wedge of slope 1.
     */
    FW_SECTION_ANTIDERIVATIVE_M3 = 1,
    /**
     * Wetted perimeter, m.
     */
    FW_SECTION_WETTED_PERIMETER_M = 2,
    /**
     * Width of the surface, m.
     */
    FW_SECTION_TOP_WIDTH_M = 3,
    /**
     * Area over wetted perimeter, m.
     */
    FW_SECTION_HYDRAULIC_RADIUS_M = 4,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_section_of fw_section_of;
#else
typedef uint32_t fw_section_of;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * A law of friction.
 */
enum fw_friction
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * Manning; `roughness` is his n, s/m^(1/3).
     */
    FW_MANNING = 0,
    /**
     * Colebrook and White; `roughness` is that of the wall, m.
     */
    FW_COLEBROOK_WHITE = 1,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_friction fw_friction;
#else
typedef uint32_t fw_friction;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * How a flow stands in a pipe.
 */
enum fw_flow_state
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : int32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * There is one depth.
     */
    FW_FLOW_ONE_DEPTH = 0,
    /**
     * There are two, near full.
     */
    FW_FLOW_TWO_DEPTHS = 1,
    /**
     * The pipe cannot carry it.
     */
    FW_FLOW_ABOVE_CAPACITY = 2,
    /**
     * There is no fall.
     */
    FW_FLOW_NO_FALL = 3,
    /**
     * The pipe runs backwards.
     */
    FW_FLOW_BACKFALL = 4,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_flow_state fw_flow_state;
#else
typedef int32_t fw_flow_state;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * What fw_hydraulics_slope_for finds the slope for.
 */
enum fw_slope_for
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * For `flow_m3_s` at a depth: `value` is the depth, m.
     */
    FW_SLOPE_FOR_DEPTH = 0,
    /**
     * For a velocity of `flow_m3_s`: `value` is the velocity, m/s.
     */
    FW_SLOPE_FOR_VELOCITY = 1,
    /**
     * For a mean boundary shear of `flow_m3_s`: `value` is the shear, Pa.
     */
    FW_SLOPE_FOR_SHEAR = 2,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_slope_for fw_slope_for;
#else
typedef uint32_t fw_slope_for;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * A published table.
 */
enum fw_published
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * Roughness of pipes: Manning's n, s/m^(1/3), and that of Colebrook and White, m.
     */
    FW_PUBLISHED_ROUGHNESS = 0,
    /**
     * Drainage fixture units of fixtures.
     */
    FW_PUBLISHED_FIXTURE_UNITS = 1,
    /**
     * The most drainage fixture units of a drain by size and slope.
     */
    FW_PUBLISHED_DRAIN_UNITS = 2,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_published fw_published;
#else
typedef uint32_t fw_published;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * A plumbing code of the United States.
 */
enum fw_plumbing_code
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * International Plumbing Code.
     */
    FW_IPC = 0,
    /**
     * Uniform Plumbing Code.
     */
    FW_UPC = 1,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_plumbing_code fw_plumbing_code;
#else
typedef uint32_t fw_plumbing_code;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * What a text is to be.
 */
enum fw_quantity_kind
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : uint32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * A length, such as "22 ft" or "10' 6\""; m.
     */
    FW_LENGTH = 0,
    /**
     * A station; m.
     */
    FW_STATION = 1,
    /**
     * A slope, such as "1/4 in/ft", "2 %" or "1 in 40"; a ratio.
     */
    FW_SLOPE = 2,
    /**
     * A tilt, as an angle or a slope; rad.
     */
    FW_TILT = 3,
    /**
     * An angle, such as "0.3 deg"; rad.
     */
    FW_ANGLE = 4,
    /**
     * A volume; m3.
     */
    FW_VOLUME = 5,
    /**
     * A flow; m3/s.
     */
    FW_FLOW = 6,
    /**
     * A velocity; m/s.
     */
    FW_VELOCITY = 7,
    /**
     * A pressure or shear; Pa.
     */
    FW_PRESSURE = 8,
    /**
     * A kinematic viscosity; m2/s.
     */
    FW_VISCOSITY = 9,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_quantity_kind fw_quantity_kind;
#else
typedef uint32_t fw_quantity_kind;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * A finding.
 */
enum fw_verdict
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : int32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * There is none: no rulebook was given.
     */
    FW_NO_VERDICT = -1,
    /**
     * The requirement is met.
     */
    FW_MEETS = 0,
    /**
     * It is not.
     */
    FW_FAILS = 1,
    /**
     * This data cannot say. Print it and count it as undecided.
     */
    FW_UNDECIDED = 2,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_verdict fw_verdict;
#else
typedef int32_t fw_verdict;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * Why a finding is undecided.
 */
enum fw_reason
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : int32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * It is decided, or none of these.
     */
    FW_NO_REASON = -1,
    /**
     * A measurement would decide it.
     */
    FW_NEEDS_MEASUREMENT = 0,
    /**
     * No practical measurement will.
     */
    FW_TOO_CLOSE = 1,
    /**
     * It was not surveyed.
     */
    FW_REASON_NOT_SURVEYED = 2,
    /**
     * Runs or ties contradict each other there.
     */
    FW_CONTRADICTED = 3,
    /**
     * The rulebook has no rule for it.
     */
    FW_NO_RULE = 4,
    /**
     * A fact that the rule asks for is missing.
     */
    FW_INPUT_MISSING = 5,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_reason fw_reason;
#else
typedef int32_t fw_reason;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * What the numbers of a finding are.
 */
enum fw_quantity
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : int32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * None of these.
     */
    FW_NO_QUANTITY = -1,
    /**
     * A slope, as a ratio.
     */
    FW_QUANTITY_SLOPE = 0,
    /**
     * A depth, m.
     */
    FW_QUANTITY_DEPTH_M = 1,
    /**
     * A length, m.
     */
    FW_QUANTITY_LENGTH_M = 2,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_quantity fw_quantity;
#else
typedef int32_t fw_quantity;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * Whether there is a pool.
 */
enum fw_pool_state
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : int32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * None of these.
     */
    FW_NO_POOL_STATE = -1,
    /**
     * It was found.
     */
    FW_POOL_FOUND = 0,
    /**
     * There may be one.
     */
    FW_POOL_POSSIBLE = 1,
    /**
     * In a trap, where it is meant to be.
     */
    FW_POOL_INTENDED = 2,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_pool_state fw_pool_state;
#else
typedef int32_t fw_pool_state;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * What came of a plan of re-laying.
 */
enum fw_relay_outcome
#if defined(__cplusplus) || __STDC_VERSION__ >= 202311L
  : int32_t
#endif // defined(__cplusplus) || __STDC_VERSION__ >= 202311L
 {
    /**
     * None of these.
     */
    FW_NO_RELAY_OUTCOME = -1,
    /**
     * There is a plan.
     */
    FW_RELAY_PLAN = 0,
    /**
     * Nothing has to be re-laid.
     */
    FW_RELAY_AS_IT_IS = 1,
    /**
     * There is none; the sentences say what is missing.
     */
    FW_RELAY_NO_PLAN = 2,
    /**
     * It cannot be told; the sentences say why.
     */
    FW_RELAY_REFUSED = 3,
};
#ifndef __cplusplus
#if __STDC_VERSION__ >= 202311L
typedef enum fw_relay_outcome fw_relay_outcome;
#else
typedef int32_t fw_relay_outcome;
#endif // __STDC_VERSION__ >= 202311L
#endif // __cplusplus

/**
 * Everything that a lateral has to say: figures, sentences, the job as understood. Nothing in it changes: several
 * threads may use it at once. It stays whole when the lateral is freed.
 */
typedef struct fw_answers fw_answers;

/**
 * Where a resolver puts the bytes of a file. It lives for the call of the resolver only.
 */
typedef struct fw_bytes fw_bytes;

/**
 * Two surveys of one lateral beside each other. Nothing in it changes: several threads may use it at once.
 */
typedef struct fw_comparison fw_comparison;

/**
 * An answer with tables of its own. Nothing in it changes: several threads may use it at once.
 */
typedef struct fw_document fw_document;

/**
 * A job: all that is known of one lateral before anything is computed. It may be changed; then no other thread may use
 * it meanwhile. Solving only reads it.
 */
typedef struct fw_job fw_job;

/**
 * A solved lateral. Nothing in it changes: several threads may ask it at once. It stays whole when the job is freed.
 */
typedef struct fw_lateral fw_lateral;

/**
 * A run that is being made. Pushing changes it: then no other thread may use it meanwhile. It depends on no other handle.
 */
typedef struct fw_live fw_live;

/**
 * A rulebook: the rows against which a lateral is checked. Nothing in it changes: several threads may use it at once.
 */
typedef struct fw_rulebook fw_rulebook;

/**
 * A table: rows of figures and texts under named columns, in SI units and radians.
 *
 * Names of columns are those of the rows of `result.json`, units in them; the JSON Schema of the result describes
 * each. Nothing in a table changes: it may be read by several threads at once. It stays whole when what it was made of
 * is freed.
 */
typedef struct fw_table fw_table;

/**
 * What went wrong, in a struct of the caller's. Every call takes one last, or NULL where the status is enough.
 *
 * Set `struct_size` to `sizeof(fw_error)` (or call `fw_error_init`) before it is first handed over; the library writes
 * no more bytes than that, so that the struct may grow. It is written where a call fails, and left alone where it does
 * not. One error belongs to one thread.
 */
typedef struct fw_error {
    /**
     * `sizeof(fw_error)`, set by the caller.
     */
    size_t struct_size;
    /**
     * What the call returned.
     */
    fw_status status;
    /**
     * Row or line of the file or text, from 1; or index of an array, from 0, where `file` is empty. -1: none.
     */
    int64_t row;
    /**
     * Column of the text, from 1. -1: none.
     */
    int64_t column;
    /**
     * Station, m. NaN: none.
     */
    double station_m;
    /**
     * The number at fault. NaN: none, or no number.
     */
    double value;
    /**
     * The field, key, argument or column at fault; UTF-8, cut at the border of a character, always ended by NUL;
     * empty: none.
     */
    char field[128];
    /**
     * The file or text at fault; as `field`.
     */
    char file[256];
    /**
     * What is wrong and what was expected, in English; as `field`.
     */
    char message[1024];
} fw_error;

/**
 * The lateral in figures: of the whole surveyed length. Slopes and falls are along the flow.
 */
typedef struct fw_summary {
    /**
     * `sizeof(fw_summary)`, set by the caller.
     */
    size_t struct_size;
    /**
     * First surveyed station, m.
     */
    double from_m;
    /**
     * Last surveyed station, m.
     */
    double to_m;
    /**
     * True length, m.
     */
    double length_m;
    /**
     * Its standard deviation, m.
     */
    double length_sd_m;
    /**
     * Mean slope, fall over horizontal length, drops left out; NaN: nothing but drops.
     */
    double slope;
    /**
     * Its standard deviation.
     */
    double slope_sd;
    /**
     * Low end of its 95 % interval.
     */
    double slope_low;
    /**
     * High end of it.
     */
    double slope_high;
    /**
     * Fall, m, drops and steps included.
     */
    double fall_m;
    /**
     * Its standard deviation, m.
     */
    double fall_sd_m;
    /**
     * Low end of its 95 % interval, m.
     */
    double fall_low_m;
    /**
     * High end of it, m.
     */
    double fall_high_m;
    /**
     * The lateral's own finding: fw_verdict.
     */
    int32_t verdict;
    /**
     * Why it is undecided: fw_reason.
     */
    int32_t reason;
    /**
     * How many segments there are.
     */
    uint64_t segments;
    /**
     * How many pools, found or possible.
     */
    uint64_t pools;
    /**
     * How many of them were found.
     */
    uint64_t pools_found;
    /**
     * How many findings.
     */
    uint64_t findings;
    /**
     * How many of them are undecided.
     */
    uint64_t undecided;
    /**
     * How many warnings.
     */
    uint64_t warnings;
    /**
     * How many measurements would help.
     */
    uint64_t next;
    /**
     * How many nodes the path has.
     */
    uint64_t path_nodes;
    /**
     * How many digs are planned.
     */
    uint64_t digs;
    /**
     * How many reaches were surveyed.
     */
    uint64_t reaches;
} fw_summary;

/**
 * Figures of a reach, or of the whole. Along the flow.
 */
typedef struct fw_reach_figures {
    /**
     * `sizeof(fw_reach_figures)`, set by the caller.
     */
    size_t struct_size;
    /**
     * Start, m.
     */
    double from_m;
    /**
     * End, m.
     */
    double to_m;
    /**
     * True length, m.
     */
    double length_m;
    /**
     * Its standard deviation, m.
     */
    double length_sd_m;
    /**
     * Mean slope, drops left out; NaN: nothing but drops.
     */
    double slope;
    /**
     * Its standard deviation.
     */
    double slope_sd;
    /**
     * Low end of its 95 % interval.
     */
    double slope_low;
    /**
     * High end of it.
     */
    double slope_high;
    /**
     * Fall, m, drops and steps included.
     */
    double fall_m;
    /**
     * Its standard deviation, m.
     */
    double fall_sd_m;
    /**
     * Low end of its 95 % interval, m.
     */
    double fall_low_m;
    /**
     * High end of it, m.
     */
    double fall_high_m;
    /**
     * Fall in drops, m, contained in `fall_m`.
     */
    double drop_fall_m;
    /**
     * Height of the bore, m; NaN: not known.
     */
    double bore_m;
} fw_reach_figures;

/**
 * One segment: a piece of constant tilt found in the data.
 */
typedef struct fw_segment {
    /**
     * `sizeof(fw_segment)`, set by the caller.
     */
    size_t struct_size;
    /**
     * Number, from 1, in order of station.
     */
    uint64_t number;
    /**
     * Start, m.
     */
    double from_m;
    /**
     * End, m.
     */
    double to_m;
    /**
     * True length, m.
     */
    double length_m;
    /**
     * Tilt, rad, positive down towards growing station.
     */
    double tilt_rad;
    /**
     * Its standard deviation, rad.
     */
    double tilt_sd_rad;
    /**
     * Slope along the flow; NaN for a drop.
     */
    double slope;
    /**
     * Its standard deviation.
     */
    double slope_sd;
    /**
     * Low end of its 95 % interval.
     */
    double slope_low;
    /**
     * High end of it.
     */
    double slope_high;
    /**
     * Fall along the flow, m.
     */
    double fall_m;
    /**
     * Its standard deviation, m.
     */
    double fall_sd_m;
    /**
     * How many readings it rests on.
     */
    uint64_t readings;
    /**
     * 1: a drop, steeper than 45 degrees; 0: pipe.
     */
    int32_t is_drop;
    /**
     * Probability that there is a break about where it starts; NaN: given, or the first.
     */
    double break_probability;
    /**
     * Standard deviation of that break's station, m; NaN: as above.
     */
    double break_sd_m;
    /**
     * Low end of its 95 % interval, m.
     */
    double break_low_m;
    /**
     * High end of it, m.
     */
    double break_high_m;
} fw_segment;

/**
 * Water that a belly can hold; whether it stands there today the camera shows.
 */
typedef struct fw_pool_figures {
    /**
     * `sizeof(fw_pool_figures)`, set by the caller.
     */
    size_t struct_size;
    /**
     * Number, from 1, in order of station.
     */
    uint64_t number;
    /**
     * fw_pool_state.
     */
    int32_t state;
    /**
     * Probability that it is deeper than 3 mm; NaN: without draws.
     */
    double exists_probability;
    /**
     * Edge at the lower station, m.
     */
    double from_m;
    /**
     * Edge at the higher station, m.
     */
    double to_m;
    /**
     * True length of water, m.
     */
    double length_m;
    /**
     * Station of the sill that holds it, m; NaN: only draws show it.
     */
    double sill_station_m;
    /**
     * Level, m above the lowest station; NaN: as above.
     */
    double level_m;
    /**
     * Where it is deepest, m; NaN: as above.
     */
    double deepest_station_m;
    /**
     * Greatest depth, m.
     */
    double depth_m;
    /**
     * Its standard deviation, m; NaN: without draws.
     */
    double depth_sd_m;
    /**
     * Low end of its 95 % interval, m; NaN: only an upper limit can be given.
     */
    double depth_low_m;
    /**
     * High end of it, or the upper limit, m.
     */
    double depth_high_m;
    /**
     * Depth over bore; NaN: bore not known.
     */
    double depth_over_bore;
    /**
     * Over what length the pipe runs full, m; NaN: as above.
     */
    double full_bore_length_m;
    /**
     * What it can hold, m3; NaN: as above.
     */
    double volume_m3;
    /**
     * Its standard deviation, m3.
     */
    double volume_sd_m3;
    /**
     * Low end of its 95 % interval, m3.
     */
    double volume_low_m3;
    /**
     * High end of it, or the upper limit, m3.
     */
    double volume_high_m3;
    /**
     * 1: the sill is the last surveyed point, and everything here is a lower bound.
     */
    int32_t sill_is_last_point;
    /**
     * 1: it touches the upstream end, and all but its level is a lower bound.
     */
    int32_t touches_upstream_end;
} fw_pool_figures;

/**
 * A finding against a rule. Its texts (subject, requirement, document, clause, sentence) are in the table `findings`.
 */
typedef struct fw_finding {
    /**
     * `sizeof(fw_finding)`, set by the caller.
     */
    size_t struct_size;
    /**
     * fw_verdict.
     */
    int32_t verdict;
    /**
     * Why it is undecided: fw_reason.
     */
    int32_t reason;
    /**
     * What the numbers are: fw_quantity.
     */
    int32_t quantity;
    /**
     * 1: the rule was seen in the primary document; 0: not yet.
     */
    int32_t confirmed;
    /**
     * The pool that it is about, by its number from 1; -1: none.
     */
    int64_t pool;
    /**
     * The reach that it is about, by its number from 1; -1: none.
     */
    int64_t reach;
    /**
     * Start of the stretch, m.
     */
    double from_m;
    /**
     * End of it, m.
     */
    double to_m;
    /**
     * Value found; NaN: none.
     */
    double value;
    /**
     * Its standard deviation.
     */
    double value_sd;
    /**
     * Low end of its two-sided 95 % interval.
     */
    double value_low;
    /**
     * High end of it.
     */
    double value_high;
    /**
     * The requirement, in the same quantity; NaN: none.
     */
    double required;
    /**
     * Probability that the requirement is met; NaN: without draws.
     */
    double probability;
} fw_finding;

/**
 * A node of the path. Its errors are in the table `path`.
 */
typedef struct fw_path_node {
    /**
     * `sizeof(fw_path_node)`, set by the caller.
     */
    size_t struct_size;
    /**
     * Station, m.
     */
    double station_m;
    /**
     * Height of the invert above the lowest station, m.
     */
    double height_m;
    /**
     * Its standard deviation, m.
     */
    double height_sd_m;
    /**
     * Low end of its 95 % interval, m.
     */
    double height_low_m;
    /**
     * High end of it, m.
     */
    double height_high_m;
    /**
     * Elevation of the invert in the job's datum, m; NaN: not known.
     */
    double elevation_m;
    /**
     * Its standard deviation, m.
     */
    double elevation_sd_m;
    /**
     * East, m; NaN: the plan is not determined.
     */
    double east_m;
    /**
     * North, m; NaN: as above.
     */
    double north_m;
    /**
     * Standard deviation of east, m.
     */
    double east_sd_m;
    /**
     * Standard deviation of north, m.
     */
    double north_sd_m;
    /**
     * Tilt of the piece that starts here, rad; NaN: the last.
     */
    double tilt_rad;
    /**
     * Azimuth here, rad; NaN: not known.
     */
    double azimuth_rad;
    /**
     * Height of the bore of that piece, m; NaN: not known.
     */
    double bore_m;
    /**
     * Elevation of the ground, m; NaN: not known.
     */
    double ground_m;
    /**
     * Ground to the outside top of the pipe, m; NaN: not known.
     */
    double cover_m;
    /**
     * Its standard deviation, m.
     */
    double cover_sd_m;
    /**
     * Ground to the invert, m; NaN: not known.
     */
    double depth_m;
    /**
     * Its standard deviation, m.
     */
    double depth_sd_m;
    /**
     * Height of the water that a belly can hold here, m above the lowest station; NaN: dry.
     */
    double water_m;
} fw_path_node;

/**
 * A measurement that would help. What to do and what can hurt while doing it are in the table `next`: show both.
 */
typedef struct fw_next {
    /**
     * `sizeof(fw_next)`, set by the caller.
     */
    size_t struct_size;
    /**
     * Where it is done, m; NaN: of the head.
     */
    double station_m;
    /**
     * Where else, m; NaN: nowhere.
     */
    double to_m;
    /**
     * How many findings are undecided now.
     */
    uint64_t undecided_now;
    /**
     * How many of them it is expected to decide.
     */
    double expected_decided;
} fw_next;

/**
 * A dig that the job plans, or a place that was asked for. Where `refused` is 1 nobody may dig by it; the reasons are
 * in the table.
 */
typedef struct fw_dig {
    /**
     * `sizeof(fw_dig)`, set by the caller.
     */
    size_t struct_size;
    /**
     * Number, from 1, in the order of the job; 0: not of the job.
     */
    uint64_t number;
    /**
     * 1: nobody may dig by this; 0: by hand as said.
     */
    int32_t refused;
    /**
     * Station, m.
     */
    double station_m;
    /**
     * Its standard deviation, m.
     */
    double station_sd_m;
    /**
     * Expect the top of the pipe from this depth, m; NaN: refused.
     */
    double expect_from_m;
    /**
     * Dig by hand from this depth, m; NaN: refused.
     */
    double by_hand_from_m;
    /**
     * East, m; NaN: not determined.
     */
    double east_m;
    /**
     * Its standard deviation, m.
     */
    double east_sd_m;
    /**
     * North, m; NaN: not determined.
     */
    double north_m;
    /**
     * Its standard deviation, m.
     */
    double north_sd_m;
    /**
     * Half the longer axis of the 95 % ellipse, m.
     */
    double ellipse_major_m;
    /**
     * Half the shorter axis, m.
     */
    double ellipse_minor_m;
    /**
     * Direction of the longer axis, rad.
     */
    double ellipse_azimuth_rad;
    /**
     * 95 % half-width across the pipe, m.
     */
    double across_m;
    /**
     * 95 % half-width along the pipe, m.
     */
    double along_m;
    /**
     * Longitude (WGS 84), rad; NaN: no origin.
     */
    double longitude_rad;
    /**
     * Latitude (WGS 84), rad; NaN: no origin.
     */
    double latitude_rad;
    /**
     * Direction of the pipe, rad; NaN: not determined.
     */
    double azimuth_rad;
    /**
     * Elevation of the invert, m; NaN: not known.
     */
    double elevation_m;
    /**
     * Its standard deviation, m.
     */
    double elevation_sd_m;
    /**
     * Elevation of the ground, m; NaN: not known.
     */
    double ground_m;
    /**
     * Ground to the invert, m; NaN: not known.
     */
    double depth_m;
    /**
     * Its standard deviation, m.
     */
    double depth_sd_m;
    /**
     * Ground to the inside top of the pipe, m; NaN: not known.
     */
    double crown_m;
    /**
     * Its standard deviation, m.
     */
    double crown_sd_m;
    /**
     * Ground to the outside top of the pipe, m; NaN: not known.
     */
    double cover_m;
    /**
     * Its standard deviation, m.
     */
    double cover_sd_m;
    /**
     * Low end of its 95 % interval, m.
     */
    double cover_low_m;
    /**
     * High end of it, m.
     */
    double cover_high_m;
} fw_dig;

/**
 * What to re-lay, in figures. Stretches, pieces, inverts, quantities and sentences are in tables: see
 * fw_answers_table.
 */
typedef struct fw_relay_figures {
    /**
     * `sizeof(fw_relay_figures)`, set by the caller.
     */
    size_t struct_size;
    /**
     * fw_relay_outcome.
     */
    int32_t outcome;
    /**
     * Probability asked of each piece.
     */
    double confidence;
    /**
     * What the plan costs by the costs of the job; NaN: no plan.
     */
    double cost;
    /**
     * Probability that all pieces meet their rules together; NaN: no plan, or without draws.
     */
    double joint_probability;
    /**
     * Low end of its interval.
     */
    double joint_low;
    /**
     * High end of it.
     */
    double joint_high;
    /**
     * By how much the outlet would have to be lower, m; NaN: not asked, or not needed.
     */
    double lower_outlet_m;
    /**
     * How many stretches are re-laid.
     */
    uint64_t stretches;
} fw_relay_figures;

/**
 * One push of the camera, or readings written down by hand. Call fw_run_init first. Arrays have `count` values each
 * and are copied.
 */
typedef struct fw_run {
    /**
     * `sizeof(fw_run)`.
     */
    size_t struct_size;
    /**
     * Name for messages, UTF-8, or NULL.
     */
    const char *name;
    /**
     * Its length, bytes.
     */
    size_t name_length;
    /**
     * How many readings.
     */
    size_t count;
    /**
     * Cable out, m, as the counter showed it.
     */
    const double *counter_m;
    /**
     * What the head reported, rad, sign as logged.
     */
    const double *reading_rad;
    /**
     * Time since the start of the log, s, or NULL.
     */
    const double *time_s;
    /**
     * Whether the head moved, 0 or 1, or NULL: told from the time, where there is one.
     */
    const uint8_t *moving;
    /**
     * Roll of the head about the pipe's axis, rad, or NULL.
     */
    const double *roll_rad;
    /**
     * Temperature of the head, degrees Celsius, or NULL. Kept, not used.
     */
    const double *temperature_c;
    /**
     * Row of the source file, from 1, for messages, or NULL.
     */
    const uint64_t *source_row;
    /**
     * fw_tilt_positive.
     */
    uint32_t tilt_positive;
    /**
     * fw_toward.
     */
    uint32_t toward;
    /**
     * 1: readings written down by hand, one a stick; else 0.
     */
    int32_t by_hand;
    /**
     * Station at counter 0, m.
     */
    double start_station_m;
    /**
     * Its standard deviation, m; NaN: exact.
     */
    double start_station_sd_m;
    /**
     * Azimuth of the pipe at the start of the run along growing station, rad, clockwise from grid north; NaN: not
     * known.
     */
    double start_azimuth_rad;
    /**
     * Its standard deviation, rad; NaN: not given.
     */
    double start_azimuth_sd_rad;
    /**
     * East of the start of the run, m; NaN: not known.
     */
    double start_east_m;
    /**
     * North of it, m; NaN: not known.
     */
    double start_north_m;
    /**
     * Standard deviation of each of the two, m; NaN: not given.
     */
    double start_plan_sd_m;
    /**
     * Elevation of the invert at the start, m; NaN: not known.
     */
    double start_invert_m;
    /**
     * Its standard deviation, m; NaN: not given.
     */
    double start_invert_sd_m;
} fw_run;

/**
 * The head and the counter. Call fw_instrument_init first; every default has its reason in the core's documentation.
 */
typedef struct fw_instrument {
    /**
     * `sizeof(fw_instrument)`.
     */
    size_t struct_size;
    /**
     * Zero error of the tilt sensor, rad: what it reads on a level surface.
     */
    double zero_rad;
    /**
     * Its standard deviation, rad.
     */
    double zero_sd_rad;
    /**
     * Standard deviation of how the head lies in each run, rad.
     */
    double seating_sd_rad;
    /**
     * Standard deviation of a single reading, rad; NaN: found in the readings.
     */
    double noise_sd_rad;
    /**
     * Over what length noise hangs together, m; NaN: found in the readings.
     */
    double correlation_m;
    /**
     * Step of the display, rad; NaN: found in the readings.
     */
    double resolution_rad;
    /**
     * Standard deviation of the drift over a run, rad.
     */
    double drift_sd_rad;
    /**
     * Over what time it drifts, s.
     */
    double drift_s;
    /**
     * Standard deviation of the error across the axis, which a roll brings in, rad.
     */
    double roll_sd_rad;
    /**
     * Standard deviation of a slow wander, rad.
     */
    double wander_sd_rad;
    /**
     * Standard deviation of the lip at a joint, m.
     */
    double lip_sd_m;
    /**
     * Length of the head, m.
     */
    double head_length_m;
    /**
     * Slack of the cable between push and pull, m; NaN: found in the readings.
     */
    double slack_m;
    /**
     * Lag of the reading behind the counter, s; NaN: found in the readings.
     */
    double lag_s;
    /**
     * By how much the counter reads short, as a share of length: -0.008 where it reads 0.8 % long.
     */
    double counter_scale;
    /**
     * Its standard deviation.
     */
    double counter_scale_sd;
    /**
     * 1: the zero was checked, and its standard deviation is that of the check; else 0.
     */
    int32_t zero_checked;
} fw_instrument;

/**
 * Takes a file: its name, UTF-8 of `name_length` bytes without a NUL behind it and without folders, and its bytes.
 * Both live for the call only.
 *
 * Return 0 to go on; anything else stops, and the call that it was given to returns FW_SINK. It is called on the
 * thread of that call, and must neither free the handles of the call nor leave by longjmp or an exception.
 */
typedef int32_t (*fw_sink)(void *user, const char *name, size_t name_length, const uint8_t *bytes, size_t length);

/**
 * A pipe in uniform flow. Call fw_pipe_flow_init first.
 */
typedef struct fw_pipe_flow {
    /**
     * `sizeof(fw_pipe_flow)`.
     */
    size_t struct_size;
    /**
     * Width of the bore, m.
     */
    double width_m;
    /**
     * Height of the bore, m; NaN: round.
     */
    double height_m;
    /**
     * Slope, fall over horizontal length, positive along the flow.
     */
    double slope;
    /**
     * By the law: Manning's n, or roughness, m.
     */
    double roughness;
    /**
     * Kinematic viscosity, m2/s, for Colebrook and White.
     */
    double viscosity_m2_s;
    /**
     * fw_friction.
     */
    uint32_t friction;
} fw_pipe_flow;

/**
 * The depth of uniform flow.
 */
typedef struct fw_normal_depth {
    /**
     * `sizeof(fw_normal_depth)`, set by the caller.
     */
    size_t struct_size;
    /**
     * The depth, m, the lower of two; NaN: there is none.
     */
    double depth_m;
    /**
     * The upper of two, m; NaN: there is none.
     */
    double upper_depth_m;
    /**
     * Relative error of the depth over that of the flow; NaN: there is none.
     */
    double condition;
    /**
     * fw_flow_state.
     */
    int32_t state;
} fw_normal_depth;

/**
 * How segments are found. Call fw_fit_options_init first.
 */
typedef struct fw_fit_options {
    /**
     * `sizeof(fw_fit_options)`.
     */
    size_t struct_size;
    /**
     * Standard deviation of a reading, rad; NaN: estimated.
     */
    double noise_sd_rad;
    /**
     * What a break costs, in variances of a reading; NaN: what is usual for so many readings.
     */
    double penalty;
    /**
     * Errors larger than so many standard deviations count no further (biweight loss); NaN: squares.
     */
    double biweight_threshold_sds;
    /**
     * Fewest readings of a segment.
     */
    uint64_t least_readings;
} fw_fit_options;

/**
 * Gives the bytes of a file that a job names: a log, a rulebook, a language, a photo.
 *
 * `name` is UTF-8 of `name_length` bytes, without a NUL behind it: a relative path with `/` between its parts that
 * never leads upwards. Hand the bytes over by fw_bytes_append, in one piece or several, and return 0. Return 1 where
 * there is no such file, anything else where it cannot be given. It is called on the thread that made the call it was
 * given to, and must neither free the handles of that call nor leave by longjmp or an exception.
 */
typedef int32_t (*fw_resolver)(void *user, const char *name, size_t name_length, struct fw_bytes *out);

/**
 * How a job is read from memory. Call fw_job_options_init first.
 */
typedef struct fw_job_options {
    /**
     * `sizeof(fw_job_options)`.
     */
    size_t struct_size;
    /**
     * Name of the text for messages, UTF-8; NULL: "job.toml" or "job.json".
     */
    const char *name;
    /**
     * Its length, bytes.
     */
    size_t name_length;
    /**
     * Gives the files that the job names; NULL: it may name none.
     */
    fw_resolver resolver;
    /**
     * Handed to the resolver as it is.
     */
    void *resolver_user;
    /**
     * Largest text of a job, bytes.
     */
    uint64_t max_text_bytes;
    /**
     * Largest file that a resolver may give, bytes.
     */
    uint64_t max_file_bytes;
    /**
     * Most bytes of all files that one job names together.
     */
    uint64_t max_total_bytes;
} fw_job_options;

/**
 * Told how far the work has come: fw_stage, and how many profiles have been drawn in all; how many there will be is
 * not known beforehand.
 *
 * Return 0 to go on; anything else stops, and the call returns FW_CANCELLED with nothing made. It is called on the
 * thread of the call, and must neither free the handles of the call nor leave by longjmp or an exception.
 */
typedef int32_t (*fw_progress)(void *user, uint32_t stage, uint64_t draws);

/**
 * How a job is solved and answered. Call fw_solve_options_init first.
 */
typedef struct fw_solve_options {
    /**
     * `sizeof(fw_solve_options)`.
     */
    size_t struct_size;
    /**
     * How many draws; -1: as the job says. For solving; answers take the lateral's.
     */
    int64_t draws;
    /**
     * Seed of the draws; used where `draws` is not -1.
     */
    uint64_t seed;
    /**
     * Asked between stages and between blocks of draws; NULL: nobody is. Figures are the same to the bit with one and
     * without.
     */
    fw_progress progress;
    /**
     * Handed to it as it is.
     */
    void *progress_user;
    /**
     * Gives the photos that the notes name, for answers; NULL: those of the folder that the job came from, or none.
     */
    fw_resolver resolver;
    /**
     * Handed to it as it is.
     */
    void *resolver_user;
    /**
     * Largest photo that is taken, bytes.
     */
    uint64_t max_file_bytes;
} fw_solve_options;

/**
 * An estimate with its error.
 */
typedef struct fw_estimate {
    /**
     * `sizeof(fw_estimate)`, set by the caller.
     */
    size_t struct_size;
    /**
     * The figure, in the unit of the call that gives it.
     */
    double value;
    /**
     * Its standard deviation.
     */
    double sd;
    /**
     * Low end of its 95 % interval.
     */
    double low;
    /**
     * High end of it.
     */
    double high;
} fw_estimate;

/**
 * Takes a draw: its number from 0, and its heights, m above its lowest node, at the stations of fw_lateral_profile.
 * They live for the call only.
 *
 * Return 0 to go on; anything else stops, and the call returns FW_SINK.
 */
typedef int32_t (*fw_draw_sink)(void *user, size_t draw, const double *height_m, size_t count);

/**
 * How readings are taken. Call fw_live_options_init first.
 */
typedef struct fw_live_options {
    /**
     * `sizeof(fw_live_options)`.
     */
    size_t struct_size;
    /**
     * The last piece before the head is left out of what is provisional, m.
     */
    double lag_m;
    /**
     * Length of a cell to begin with, m: readings of new ground are averaged over cells, which become longer as the run does.
     */
    double cell_m;
    /**
     * Most cells, an even number from 16 on: they bound the time that a provisional answer takes.
     */
    uint64_t most_cells;
    /**
     * Most readings that are kept: 40 bytes each at most.
     */
    uint64_t most_readings;
    /**
     * Draws for what is provisional; 0: none, errors by propagation alone.
     */
    uint64_t draws;
} fw_live_options;

/**
 * Where in the lateral something was measured. Small and passed by value.
 */
typedef struct fw_place {
    /**
     * Station, m.
     */
    double station_m;
    /**
     * Standard deviation of the station, m: how well the place belongs to it; NaN: what is usual, 0.05 m.
     */
    double sd_m;
    /**
     * 1: the station was taped from the start of the first run rather than had from the counter; else 0.
     */
    int32_t taped;
    /**
     * For alignment; 0.
     */
    int32_t reserved;
} fw_place;

#ifdef __cplusplus
extern "C" {
#endif // __cplusplus

/**
 * Opens a `result.json` that was written before, by this version or an older one, without solving anything.
 *
 * `json` is UTF-8 of `length` bytes. `*answers` is the caller's, to be freed by fw_answers_free. Fails with FW_FORMAT
 * for what is no result, or one of a later form, and with FW_NOT_BUILT. Photos are not in a result: pages made of it
 * go without.
 */
fw_status fw_answers_from_json(const char *json, size_t length, struct fw_answers **answers, struct fw_error *error);

/**
 * Frees answers. NULL is allowed.
 */
void fw_answers_free(struct fw_answers *answers);

/**
 * Sets the language of pages made of answers, from the text of its table (TOML). No other thread may use the answers
 * meanwhile.
 */
fw_status fw_answers_set_language(struct fw_answers *answers, const char *text, size_t length, struct fw_error *error);

/**
 * Everything as JSON: the text of `result.json`, keys sorted, the same bytes on every machine.
 *
 * Into `buffer` of `capacity` bytes; `*needed` counts the NUL. The text is made anew in each call: ask once with a
 * large buffer, or use fw_report_files, where it is large. Fails with FW_NOT_BUILT.
 */
fw_status fw_answers_json(const struct fw_answers *answers,
                          char *buffer,
                          size_t capacity,
                          size_t *needed,
                          struct fw_error *error);

/**
 * A table as CSV, by the name of its file without the ending, such as "segments": a header, then a line a row.
 *
 * Into `buffer` of `capacity` bytes; `*needed` counts the NUL. The text is made anew in each call. Fails with
 * FW_UNKNOWN_WORD, and FW_NOT_BUILT.
 */
fw_status fw_answers_csv(const struct fw_answers *answers,
                         const char *name,
                         size_t name_length,
                         char *buffer,
                         size_t capacity,
                         size_t *needed,
                         struct fw_error *error);

/**
 * The one sentence that matters, in the words of the job.
 *
 * Into `buffer` of `capacity` bytes; `*needed` counts the NUL. Does not allocate.
 */
fw_status fw_answers_sentence(const struct fw_answers *answers,
                              char *buffer,
                              size_t capacity,
                              size_t *needed,
                              struct fw_error *error);

/**
 * A table of the answers by its name.
 *
 * Names are those of the lists in `result.json` ("segments", "pools", "findings", "path", "ties", "digs", ...);
 * "total", "carrying" and "adjustment" have one row or none; "next" has all measurements that would help, "without"
 * what figures would be without ties that may be wrong; lists of a plan of re-laying are "relay_stretches",
 * "relay_pieces", "relay_nodes", "relay_quantities", "relay_short"; "warnings", "notes", "cautions" (show them where
 * you show figures), "not_covered" and "relay_sentences" have one column, "text". fw_answers_tables lists them all.
 *
 * `*table` is the caller's, to be freed by fw_table_free. Fails with FW_UNKNOWN_NAME.
 */
fw_status fw_answers_table(const struct fw_answers *answers,
                           const char *name,
                           size_t name_length,
                           struct fw_table **table_out,
                           struct fw_error *error);

/**
 * The names of the tables that fw_answers_table gives: a table of one column, "text".
 *
 * `*table_out` is the caller's, to be freed by fw_table_free.
 */
fw_status fw_answers_tables(struct fw_table **table_out, struct fw_error *error);

/**
 * The lateral in figures, and how many rows there are of each kind.
 *
 * Set `out->struct_size` first, here and in the functions below. They do not allocate; rows count from 0, and what is
 * beyond the last is FW_OUT_OF_RANGE.
 */
fw_status fw_answers_summary(const struct fw_answers *answers, struct fw_summary *out, struct fw_error *error);

/**
 * Figures of a surveyed reach; its name and pipe are in the table `reaches`.
 */
fw_status fw_answers_reach(const struct fw_answers *answers,
                           size_t index,
                           struct fw_reach_figures *out,
                           struct fw_error *error);

/**
 * A segment.
 */
fw_status fw_answers_segment(const struct fw_answers *answers,
                             size_t index,
                             struct fw_segment *out,
                             struct fw_error *error);

/**
 * A pool; its sentence is in the table `pools`.
 */
fw_status fw_answers_pool(const struct fw_answers *answers,
                          size_t index,
                          struct fw_pool_figures *out,
                          struct fw_error *error);

/**
 * A finding, the lateral's own first.
 */
fw_status fw_answers_finding(const struct fw_answers *answers,
                             size_t index,
                             struct fw_finding *out,
                             struct fw_error *error);

/**
 * A node of the path, in order of station.
 */
fw_status fw_answers_path_node(const struct fw_answers *answers,
                               size_t index,
                               struct fw_path_node *out,
                               struct fw_error *error);

/**
 * A measurement that would help, the best first.
 */
fw_status fw_answers_next(const struct fw_answers *answers, size_t index, struct fw_next *out, struct fw_error *error);

/**
 * A dig that the job plans. Where `refused` is 1, nobody may dig by it.
 */
fw_status fw_answers_dig(const struct fw_answers *answers, size_t index, struct fw_dig *out, struct fw_error *error);

/**
 * What to re-lay; FW_NOT_DETERMINED where the job asks for no plan.
 */
fw_status fw_answers_relay(const struct fw_answers *answers, struct fw_relay_figures *out, struct fw_error *error);

/**
 * Sets all of it: no readings, station growing, readings positive downwards, nothing else known.
 *
 * `struct_size` is `sizeof(fw_run)`, which is written too.
 */
fw_status fw_run_init(struct fw_run *run, size_t struct_size, struct fw_error *error);

/**
 * Adds a run to a job; its arrays are copied.
 *
 * What no run can be (fewer than two readings, numbers that are not finite) is told when the job is solved, with the
 * run's name and the index.
 */
fw_status fw_job_add_run(struct fw_job *job, const struct fw_run *run, struct fw_error *error);

/**
 * Adds a reach of a standard pipe, from `from_m` to `to_m` (stations, m), such as class "SDR 35" and size "4 in".
 *
 * `name` may be NULL. Reaches follow each other in order of station. Fails with FW_UNKNOWN_WORD for a class or size
 * that is not in the table of fw_standard_pipes.
 */
fw_status fw_job_add_standard_reach(struct fw_job *job,
                                    const char *name,
                                    size_t name_length,
                                    double from_m,
                                    double to_m,
                                    const char *pipe_class,
                                    size_t class_length,
                                    const char *size,
                                    size_t size_length,
                                    struct fw_error *error);

/**
 * Adds a reach of a pipe whose bore is known: `width_m` wide and `height_m` high inside, m; NaN for the height: round.
 * NaN for both: a pipe whose bore is not known.
 *
 * `name` may be NULL.
 */
fw_status fw_job_add_reach(struct fw_job *job,
                           const char *name,
                           size_t name_length,
                           double from_m,
                           double to_m,
                           double width_m,
                           double height_m,
                           struct fw_error *error);

/**
 * The table of standard pipes: class, nominal size, outside diameter, wall and bore in m, material, source.
 *
 * `*table` is the caller's, to be freed by fw_table_free.
 */
fw_status fw_standard_pipes(struct fw_table **table, struct fw_error *error);

/**
 * Sets all of it to what is usual for a push camera.
 *
 * `struct_size` is `sizeof(fw_instrument)`, which is written too.
 */
fw_status fw_instrument_init(struct fw_instrument *instrument, size_t struct_size, struct fw_error *error);

/**
 * Sets all of it to an instrument without errors, for tests.
 *
 * `struct_size` is `sizeof(fw_instrument)`, which is written too.
 */
fw_status fw_instrument_init_exact(struct fw_instrument *instrument, size_t struct_size, struct fw_error *error);

/**
 * Sets the instrument of a job; it is copied. What it cannot be is told when the job is solved.
 */
fw_status fw_job_set_instrument(struct fw_job *job, const struct fw_instrument *instrument, struct fw_error *error);

/**
 * Adds a bend: the fitting's angle in space, rad, positive to the right looking along growing station, centred at
 * `station_m`.
 *
 * `deflection_sd_rad` and `radius_m` may be NaN: what is usual.
 */
fw_status fw_job_add_bend(struct fw_job *job,
                          double station_m,
                          double deflection_rad,
                          double deflection_sd_rad,
                          double radius_m,
                          struct fw_error *error);

/**
 * Adds a vertical lip at a displaced joint: by how much, m, the invert is higher just after `station_m` than just
 * before it, looking along growing station.
 *
 * `rise_sd_m` may be NaN: what is usual.
 */
fw_status fw_job_add_step(struct fw_job *job,
                          double station_m,
                          double rise_m,
                          double rise_sd_m,
                          struct fw_error *error);

/**
 * Adds as-built inverts: `count` stations and elevations, m, with a standard deviation in m for all of them; NaN:
 * exact.
 *
 * Where the job has no run, the lateral is made of them.
 */
fw_status fw_job_add_as_built(struct fw_job *job,
                              const double *station_m,
                              const double *invert_m,
                              size_t count,
                              double sd_m,
                              struct fw_error *error);

/**
 * Compares two surveys of one lateral in one stationing: what changed, each with its error.
 *
 * `shared` is fw_shared. `rulebook` NULL: that of the second survey's job, or none. `*comparison` is the caller's, to
 * be freed by fw_comparison_free.
 */
fw_status fw_compare(const struct fw_lateral *before,
                     const struct fw_lateral *after,
                     uint32_t shared,
                     const struct fw_rulebook *rulebook,
                     struct fw_comparison **comparison,
                     struct fw_error *error);

/**
 * Opens a `comparison.json` that was written before, without solving anything; as fw_answers_from_json.
 */
fw_status fw_comparison_from_json(const char *json,
                                  size_t length,
                                  struct fw_comparison **comparison,
                                  struct fw_error *error);

/**
 * Everything in it as JSON: the text of `comparison.json`.
 *
 * Into `buffer` of `capacity` bytes; `*needed` counts the NUL. The text is made anew in each call.
 */
fw_status fw_comparison_json(const struct fw_comparison *comparison,
                             char *buffer,
                             size_t capacity,
                             size_t *needed,
                             struct fw_error *error);

/**
 * The one sentence that matters.
 *
 * Into `buffer` of `capacity` bytes; `*needed` counts the NUL. Does not allocate.
 */
fw_status fw_comparison_sentence(const struct fw_comparison *comparison,
                                 char *buffer,
                                 size_t capacity,
                                 size_t *needed,
                                 struct fw_error *error);

/**
 * A table of it: "slopes", "heights", "profile", "bellies", "findings"; "warnings", "not_covered" and "cautions" have
 * one column, "text".
 *
 * `*table` is the caller's, to be freed by fw_table_free. Fails with FW_UNKNOWN_NAME.
 */
fw_status fw_comparison_table(const struct fw_comparison *comparison,
                              const char *name,
                              size_t name_length,
                              struct fw_table **table,
                              struct fw_error *error);

/**
 * Pages and pictures of it through a sink.
 *
 * Fails with FW_SINK, FW_REPORT, FW_NOT_BUILT.
 */
fw_status fw_comparison_files(const struct fw_comparison *comparison, fw_sink sink, void *user, struct fw_error *error);

/**
 * Frees a comparison. NULL is allowed.
 */
void fw_comparison_free(struct fw_comparison *comparison);

/**
 * Everything in it as JSON.
 *
 * Into `buffer` of `capacity` bytes; `*needed` counts the NUL. Does not allocate.
 */
fw_status fw_document_json(const struct fw_document *document,
                           char *buffer,
                           size_t capacity,
                           size_t *needed,
                           struct fw_error *error);

/**
 * A table of it by its name; which there are says the function that made it.
 *
 * `*table` is the caller's, to be freed by fw_table_free. Fails with FW_UNKNOWN_NAME.
 */
fw_status fw_document_table(const struct fw_document *document,
                            const char *name,
                            size_t name_length,
                            struct fw_table **table,
                            struct fw_error *error);

/**
 * Frees a document. NULL is allowed.
 */
void fw_document_free(struct fw_document *document);

/**
 * Sets `struct_size`, which is `sizeof(fw_error)`, and empties the rest. NULL is allowed.
 *
 * `error` belongs to the caller and needs no freeing.
 */
void fw_error_init(struct fw_error *error, size_t struct_size);

/**
 * Sets all of it: Colebrook and White with the roughness and viscosity of EN 12056-2; bore and slope NaN, to be set.
 *
 * `struct_size` is `sizeof(fw_pipe_flow)`, which is written too.
 */
fw_status fw_pipe_flow_init(struct fw_pipe_flow *pipe, size_t struct_size, struct fw_error *error);

/**
 * What the pipe carries with water so deep, m: flow, m3/s, mean velocity, m/s, and mean boundary shear, Pa.
 */
fw_status fw_hydraulics_at_depth(const struct fw_pipe_flow *pipe_given,
                                 double depth_m,
                                 double *flow_m3_s,
                                 double *velocity_m_s,
                                 double *shear_pa_out,
                                 struct fw_error *error);

/**
 * The depth of uniform flow of `flow_m3_s`. Set `out->struct_size` first.
 */
fw_status fw_hydraulics_normal_depth(const struct fw_pipe_flow *pipe_given,
                                     double flow_m3_s,
                                     struct fw_normal_depth *out,
                                     struct fw_error *error);

/**
 * The most that the pipe carries, m3/s, at which depth, m, and what it carries full, m3/s.
 */
fw_status fw_hydraulics_most(const struct fw_pipe_flow *pipe_given,
                             double *flow_m3_s,
                             double *depth_m,
                             double *full_m3_s,
                             struct fw_error *error);

/**
 * Critical depth, m, of a flow, m3/s; the bore as in fw_section.
 */
fw_status fw_hydraulics_critical_depth(double width_m,
                                       double height_m,
                                       double flow_m3_s,
                                       double *depth_m,
                                       struct fw_error *error);

/**
 * Froude number of a flow, m3/s, at a depth, m; the bore as in fw_section.
 */
fw_status fw_hydraulics_froude(double width_m,
                               double height_m,
                               double depth_m,
                               double flow_m3_s,
                               double *number,
                               struct fw_error *error);

/**
 * The slope that a flow, m3/s, needs for a depth, velocity or shear; the slope of `pipe_given` is not used.
 *
 * `what` is fw_slope_for. Fails with FW_NOT_DETERMINED where no slope does.
 */
fw_status fw_hydraulics_slope_for(const struct fw_pipe_flow *pipe_given,
                                  uint32_t what,
                                  double value,
                                  double flow_m3_s,
                                  double *slope,
                                  struct fw_error *error);

/**
 * The slope at which water so deep, m, has a mean boundary shear, Pa; the bore as in fw_section.
 */
fw_status fw_hydraulics_slope_for_shear(double width_m,
                                        double height_m,
                                        double depth_m,
                                        double shear,
                                        double *slope,
                                        struct fw_error *error);

/**
 * The diameter, m, of the round pipe that carries a flow, m3/s, on the slope of `pipe_given` when filled to a share of
 * its bore, 0 to 1; the bore of `pipe_given` is not used.
 *
 * Fails with FW_NOT_DETERMINED where none does.
 */
fw_status fw_hydraulics_diameter_for(const struct fw_pipe_flow *pipe_given,
                                     double flow_m3_s,
                                     double filling,
                                     double *diameter_m,
                                     struct fw_error *error);

/**
 * Whether a flow, m3/s, keeps the pipe clean: 1 or 0 by a least velocity, m/s, and by a least mean boundary shear, Pa.
 *
 * Fails with FW_NOT_DETERMINED where the flow has no depth.
 */
fw_status fw_hydraulics_self_cleansing(const struct fw_pipe_flow *pipe_given,
                                       double flow_m3_s,
                                       double least_velocity_m_s,
                                       double least_shear_pa,
                                       int32_t *by_velocity,
                                       int32_t *by_shear,
                                       struct fw_error *error);

/**
 * Critical mean boundary shear, Pa, for a grain of a size, m.
 */
fw_status fw_hydraulics_critical_shear(double grain_m, double *shear, struct fw_error *error);

/**
 * Kinematic viscosity of water, m2/s, at a temperature, degrees Celsius.
 */
fw_status fw_hydraulics_viscosity(double temperature_c, double *viscosity_m2_s, struct fw_error *error);

/**
 * Design flow, m3/s, of waste water (EN 12056-2) from `count` discharge units, l/s, and how often appliances are used:
 * "intermittent", "frequent", "congested" or "special".
 *
 * Fails with FW_JSON for a use that is not known.
 */
fw_status fw_hydraulics_waste_water_flow(const double *units_l_s,
                                         size_t count,
                                         const char *used,
                                         size_t used_length,
                                         double *flow_m3_s,
                                         struct fw_error *error);

/**
 * The discharge unit of an appliance, l/s, and that of a larger one of its kind, in a system of EN 12056-2 ("I" to
 * "IV" as the job has it).
 *
 * Fails with FW_UNKNOWN_WORD for an appliance and FW_JSON for a system that is not known.
 */
fw_status fw_hydraulics_discharge_unit(const char *name,
                                       size_t name_length,
                                       const char *system,
                                       size_t system_length,
                                       double *low_l_s,
                                       double *high_l_s,
                                       struct fw_error *error);

/**
 * A figure of a bore with water in it, for each of `count` depths, m, into `out`, which has as many places.
 *
 * `width_m` and `height_m` of the bore, m; NaN for the height: round. `of` is fw_section_of. Fails with FW_INPUT for a
 * bore that cannot be, with FW_BAD_VALUE for a depth that is not finite, its index in `row`.
 */
fw_status fw_section(double width_m,
                     double height_m,
                     uint32_t of,
                     const double *depth_m,
                     size_t count,
                     double *out,
                     struct fw_error *error);

/**
 * The depth, m, at which the water has an area, m2, for each of `count` areas, into `out`; the bore as in fw_section.
 *
 * Fails with FW_INPUT for an area below 0 or above that of the bore.
 */
fw_status fw_section_depth_for_area(double width_m,
                                    double height_m,
                                    const double *area_m2,
                                    size_t count,
                                    double *out,
                                    struct fw_error *error);

/**
 * Area of the full bore, m2; the bore as in fw_section.
 */
fw_status fw_section_full_area(double width_m, double height_m, double *area_m2, struct fw_error *error);

/**
 * Mean area, m2, of a straight piece whose depths at its ends are these, m: its volume over its length. The bore as in
 * fw_section.
 */
fw_status fw_section_mean_area(double width_m,
                               double height_m,
                               double first_m,
                               double second_m,
                               double *area_m2,
                               struct fw_error *error);

/**
 * A path by minimum curvature from `count` stations, m, tilts, rad, positive down, and azimuths, rad: three numbers
 * each (east, north, up, m, from the first station) into `xyz_m` of `3 * count` numbers.
 *
 * Fails with FW_INPUT, the index in `row`.
 */
fw_status fw_minimum_curvature(const double *station_m,
                               const double *tilt_rad,
                               const double *azimuth_rad,
                               size_t count,
                               double *xyz_m,
                               struct fw_error *error);

/**
 * The angle between two directions of tilt and azimuth, rad.
 */
fw_status fw_dogleg(double first_tilt_rad,
                    double first_azimuth_rad,
                    double second_tilt_rad,
                    double second_azimuth_rad,
                    double *angle_rad,
                    struct fw_error *error);

/**
 * The water that a line of straight pieces can hold: `count` stations, m along the pipe, and inverts, m.
 *
 * `flow_decreasing` is 1 where the water flows towards falling station, else 0; `tailwater_m` is the water at the
 * outlet above its invert, NaN: a free outlet; the bore as in fw_section, NaN for both: not known. Gives a table of
 * pools as they are in the best estimate, without errors. `*table` is the caller's, to be freed by fw_table_free.
 */
fw_status fw_pools(const double *station_m,
                   const double *invert_m,
                   size_t count,
                   double width_m,
                   double height_m,
                   int32_t flow_decreasing,
                   double tailwater_m,
                   struct fw_table **table,
                   struct fw_error *error);

/**
 * Sets all of it: noise estimated, the usual penalty, squares.
 *
 * `struct_size` is `sizeof(fw_fit_options)`, which is written too.
 */
fw_status fw_fit_options_init(struct fw_fit_options *options, size_t struct_size, struct fw_error *error);

/**
 * Segments of constant tilt in `count` readings: stations, m, growing, and tilts, rad; `weight` may be NULL: all
 * alike.
 *
 * `options` may be NULL. Breaks, m, into `breaks_m` and tilts, rad, into `segment_tilt_rad`, each of `capacity`
 * numbers; `*needed` becomes how many breaks there are, of which there is one more than segments. Both NULL with a
 * capacity of 0 only ask.
 */
fw_status fw_fit_chain(const double *station_m,
                       const double *tilt_rad,
                       const double *weight,
                       size_t count,
                       const struct fw_fit_options *options_given,
                       double *breaks_m,
                       double *segment_tilt_rad,
                       size_t capacity,
                       size_t *needed,
                       struct fw_error *error);

/**
 * The place on the earth (WGS 84) of local axes: longitude and latitude, rad, of a point east and north, m.
 *
 * The origin: its longitude and latitude, rad, its own east and north, m, and by how much grid north lies clockwise of
 * true north, rad. Fails with FW_INPUT for what is too far away.
 */
fw_status fw_geographic_place(double origin_longitude_rad,
                              double origin_latitude_rad,
                              double origin_east_m,
                              double origin_north_m,
                              double grid_north_rad,
                              double east_m,
                              double north_m,
                              double *longitude_rad,
                              double *latitude_rad,
                              struct fw_error *error);

/**
 * Adds bytes to the file that a resolver is asked for; they are copied.
 *
 * Fails with FW_TOO_LARGE where the file becomes larger than the limit; the resolver should then return, what it
 * returns no longer matters.
 */
fw_status fw_bytes_append(struct fw_bytes *out, const uint8_t *bytes, size_t length, struct fw_error *error);

/**
 * Sets all of it: no resolver, at most 16 MiB of text, 256 MiB a file, 512 MiB together.
 *
 * `struct_size` is `sizeof(fw_job_options)`, which is written too.
 */
fw_status fw_job_options_init(struct fw_job_options *options, size_t struct_size, struct fw_error *error);

/**
 * A job with nothing in it, to be filled by fw_job_add_run and the like.
 *
 * `*job` is the caller's, to be freed by fw_job_free.
 */
fw_status fw_job_new(struct fw_job **job, struct fw_error *error);

/**
 * Reads a job from its text in TOML: the form of job files, every quantity with its unit.
 *
 * `text` is UTF-8 of `length` bytes; `options` may be NULL, which is what fw_job_options_init sets. `*job` is the
 * caller's, to be freed by fw_job_free. Fails with FW_FORMAT and the like: file, line and column, key and what was
 * expected are in the error; with FW_TOO_LARGE; with FW_NOT_BUILT.
 */
fw_status fw_job_from_toml(const char *text,
                           size_t length,
                           const struct fw_job_options *options,
                           struct fw_job **job,
                           struct fw_error *error);

/**
 * Reads a job of the same form from JSON, in which null is an absent key; as fw_job_from_toml.
 */
fw_status fw_job_from_json(const char *text,
                           size_t length,
                           const struct fw_job_options *options,
                           struct fw_job **job,
                           struct fw_error *error);

/**
 * Reads a job file (TOML, or JSON where its name ends in ".json") and the files that it names, which must lie below
 * its folder. Nothing is written.
 *
 * `path` is UTF-8 of `path_length` bytes. `*job` is the caller's, to be freed by fw_job_free. The folder is read again
 * for photos when answers are made. Fails as fw_job_from_toml, and with FW_FILE_MISSING and FW_FILE.
 */
fw_status fw_job_from_file(const char *path, size_t path_length, struct fw_job **job, struct fw_error *error);

/**
 * Frees a job. NULL is allowed. What was made of it stays.
 */
void fw_job_free(struct fw_job *job);

/**
 * Sets a part of the job from JSON: plain data in SI units and radians, under the names of `result.json`'s `job`.
 *
 * `key` is one of `survey`, `origin`, `runs`, `as_built`, `as_built_use`, `ties`, `reaches`, `instrument`, `bends`,
 * `steps`, `features`, `ground`, `notes`, `landmarks`, `digs`, `digging`, `flow`, `segments`, `tailwater_m`,
 * `capacity`, `rules`, `report`, `relay`; what was there is replaced. Fails with FW_UNKNOWN_NAME, and with FW_JSON:
 * the path of the key is in `field`, line and column of the JSON beside it. The job is then as it was.
 */
fw_status fw_job_set_json(struct fw_job *job,
                          const char *key,
                          size_t key_length,
                          const char *json,
                          size_t json_length,
                          struct fw_error *error);

/**
 * Adds one to a list of the job from JSON; as fw_job_set_json.
 *
 * `key` is one of `runs`, `as_built`, `ties`, `reaches`, `bends`, `steps`, `features`, `ground`, `notes`, `landmarks`,
 * `digs`.
 */
fw_status fw_job_add_json(struct fw_job *job,
                          const char *key,
                          size_t key_length,
                          const char *json,
                          size_t json_length,
                          struct fw_error *error);

/**
 * The job as plain data in JSON, SI units and radians: what fw_job_set_json takes, all of it under its keys.
 *
 * Into `buffer` of `capacity` bytes; `*needed` counts the NUL. The text is made anew in each call.
 */
fw_status fw_job_json(const struct fw_job *job, char *buffer, size_t capacity, size_t *needed, struct fw_error *error);

/**
 * The job as a TOML text of the form that fw_job_from_toml reads, and the logs that it then names, through a sink:
 * first "job.toml", then each log.
 *
 * Fails with FW_SINK where the sink says stop, FW_NOT_BUILT, and FW_FORMAT for what the form cannot say.
 */
fw_status fw_job_write(const struct fw_job *job, fw_sink sink, void *user, struct fw_error *error);

/**
 * The job without people and site, for sharing: everything that figures depend on stays.
 *
 * `*redacted` is the caller's, to be freed by fw_job_free.
 */
fw_status fw_job_redacted(const struct fw_job *job, struct fw_job **redacted, struct fw_error *error);

/**
 * Sets the rulebook that the lateral is checked against where no other is given; it is copied.
 */
fw_status fw_job_set_rulebook(struct fw_job *job, const struct fw_rulebook *rulebook, struct fw_error *error);

/**
 * Sets the language of pages and pictures, from the text of its table (TOML). Fails with FW_INPUT and the like.
 */
fw_status fw_job_set_language(struct fw_job *job, const char *text, size_t length, struct fw_error *error);

/**
 * Sets all of it: draws as the job says, nobody asked, photos of the job's folder.
 *
 * `struct_size` is `sizeof(fw_solve_options)`, which is written too.
 */
fw_status fw_solve_options_init(struct fw_solve_options *options, size_t struct_size, struct fw_error *error);

/**
 * Solves a job. The job is only read, and may be freed afterwards.
 *
 * `options` may be NULL. `*lateral` is the caller's, to be freed by fw_lateral_free. Fails with FW_INPUT and the other
 * failures of input, which name field, index or station, value and what was expected, and for a job from text that was
 * not changed since its line; with FW_CANCELLED. Takes milliseconds to seconds; several threads may solve several
 * jobs, or one, at once.
 */
fw_status fw_lateral_solve(const struct fw_job *job,
                           const struct fw_solve_options *options,
                           struct fw_lateral **lateral,
                           struct fw_error *error);

/**
 * Solves a job with one round pipe all along in the place of its reaches: a standard one, from the first surveyed
 * station to the last.
 *
 * `options` may be NULL. Otherwise as fw_lateral_solve; faults of a job from text come without their lines.
 */
fw_status fw_lateral_solve_in_one_pipe(const struct fw_job *job,
                                       const char *pipe_class,
                                       size_t class_length,
                                       const char *size,
                                       size_t size_length,
                                       const struct fw_solve_options *options,
                                       struct fw_lateral **lateral,
                                       struct fw_error *error);

/**
 * A lateral whose segments are given and exact: `breaks` stations, m, and one tilt fewer, rad, positive down towards
 * growing station.
 *
 * `width_m` and `height_m` of the bore, m; NaN for the height: round; NaN for both: not known. `*lateral` is the
 * caller's, to be freed by fw_lateral_free.
 */
fw_status fw_lateral_from_segments(const double *breaks_m,
                                   size_t breaks,
                                   const double *tilt_rad,
                                   size_t tilts,
                                   double width_m,
                                   double height_m,
                                   struct fw_lateral **lateral,
                                   struct fw_error *error);

/**
 * A lateral whose inverts are given: `count` stations and inverts, m, straight pipe between them, each with a standard
 * deviation of `sd_m`, m; NaN: exact.
 *
 * The bore as in fw_lateral_from_segments. `*lateral` is the caller's, to be freed by fw_lateral_free.
 */
fw_status fw_lateral_from_inverts(const double *station_m,
                                  const double *invert_m,
                                  size_t count,
                                  double sd_m,
                                  double width_m,
                                  double height_m,
                                  struct fw_lateral **lateral,
                                  struct fw_error *error);

/**
 * Frees a lateral. NULL is allowed.
 */
void fw_lateral_free(struct fw_lateral *lateral);

/**
 * Everything that the lateral has to say, with findings where there is a rulebook.
 *
 * `rulebook` NULL: that of the job. `options` may be NULL; its draws and seed are not used. `*answers` is the
 * caller's, to be freed by fw_answers_free. Fails with FW_CANCELLED. A photo that cannot be had is a warning in the
 * answers.
 */
fw_status fw_lateral_answers(const struct fw_lateral *lateral,
                             const struct fw_rulebook *rulebook,
                             const struct fw_solve_options *options,
                             struct fw_answers **answers,
                             struct fw_error *error);

/**
 * First and last surveyed station, m.
 */
fw_status fw_lateral_surveyed(const struct fw_lateral *lateral, double *from_m, double *to_m, struct fw_error *error);

/**
 * Slope along the flow between two stations, m: fall over horizontal length, drops cut out, with its error.
 *
 * Set `out->struct_size` first. Fails with FW_NOT_DETERMINED where there is nothing but drops, or where either was not
 * surveyed.
 */
fw_status fw_lateral_slope_between(const struct fw_lateral *lateral,
                                   double from_m,
                                   double to_m,
                                   struct fw_estimate *out,
                                   struct fw_error *error);

/**
 * Fall along the flow between two stations, m, drops and steps included, with its error.
 *
 * Set `out->struct_size` first. Fails with FW_NOT_DETERMINED where either was not surveyed.
 */
fw_status fw_lateral_fall_between(const struct fw_lateral *lateral,
                                  double from_m,
                                  double to_m,
                                  struct fw_estimate *out,
                                  struct fw_error *error);

/**
 * What is known at each of `count` stations, m: a table with the columns of `path`.
 *
 * `*table` is the caller's, to be freed by fw_table_free. Fails with FW_NOT_SURVEYED.
 */
fw_status fw_lateral_at(const struct fw_lateral *lateral,
                        const double *station_m,
                        size_t count,
                        struct fw_table **table,
                        struct fw_error *error);

/**
 * Stations and heights of the profile of the best estimate, m above its lowest node, in order of station, each into
 * its own buffer of
 * `capacity` numbers.
 *
 * Both buffers NULL with a capacity of 0 only ask.
 */
fw_status fw_lateral_profile(const struct fw_lateral *lateral,
                             double *station_m,
                             double *height_m,
                             size_t capacity,
                             size_t *needed,
                             struct fw_error *error);

/**
 * Equally likely profiles, one after the other through a sink: `count` of them for a seed.
 *
 * Draw i is the same however many are asked for, on every machine.
 */
fw_status fw_lateral_draws(const struct fw_lateral *lateral,
                           size_t count,
                           uint64_t seed,
                           fw_draw_sink sink,
                           void *user,
                           struct fw_error *error);

/**
 * Covariances of the heights at `count` stations, m2, into `matrix` of `count * count` numbers, row by row.
 *
 * Fails with FW_NOT_SURVEYED.
 */
fw_status fw_lateral_covariance(const struct fw_lateral *lateral,
                                const double *station_m,
                                size_t count,
                                double *matrix,
                                struct fw_error *error);

/**
 * Findings against a rulebook, the lateral's own first: a table with the columns of `findings`.
 *
 * `rulebook` NULL: that of the job. `*undecided` becomes how many parts are undecided for want of a measurement; it
 * may be NULL. `*table` is the caller's, to be freed by fw_table_free.
 */
fw_status fw_lateral_check(const struct fw_lateral *lateral,
                           const struct fw_rulebook *rulebook,
                           uint64_t *undecided,
                           struct fw_table **table,
                           struct fw_error *error);

/**
 * Measurements that would decide what is undecided, best first: a table with the columns of `next`. Show the hazard of
 * each with it.
 *
 * `rulebook` NULL: that of the job. `*table` is the caller's, to be freed by fw_table_free.
 */
fw_status fw_lateral_what_next(const struct fw_lateral *lateral,
                               const struct fw_rulebook *rulebook,
                               struct fw_table **table,
                               struct fw_error *error);

/**
 * Pools with standing water at the outlet so high above its invert, m: a table with the columns of `pools`. NaN: as
 * the job says of it.
 *
 * `*table` is the caller's, to be freed by fw_table_free.
 */
fw_status fw_lateral_pools(const struct fw_lateral *lateral,
                           double tailwater_m,
                           struct fw_table **table,
                           struct fw_error *error);

/**
 * The segments: a table with the columns of `segments`, without drawing anything.
 *
 * `*table` is the caller's, to be freed by fw_table_free.
 */
fw_status fw_lateral_segments(const struct fw_lateral *lateral, struct fw_table **table, struct fw_error *error);

/**
 * Where a station lies on the surface and how deep, and whether anybody may dig by it: figures, and the whole row as a
 * table of one row with the columns of `digs`.
 *
 * `station_sd_m`, m; NaN: what is usual for a station from the counter. Set `out->struct_size` first; `table` may be
 * NULL. `*table` is the caller's, to be freed by fw_table_free. Fails with FW_NOT_SURVEYED.
 */
fw_status fw_lateral_locate(const struct fw_lateral *lateral,
                            double station_m,
                            double station_sd_m,
                            struct fw_dig *out,
                            struct fw_table **table,
                            struct fw_error *error);

/**
 * Distances of a station from each landmark of the job: a table with the columns of `tapes`; no rows where the plan is
 * not determined.
 *
 * `station_sd_m` as in fw_lateral_locate. `*table` is the caller's, to be freed by fw_table_free.
 */
fw_status fw_lateral_distances(const struct fw_lateral *lateral,
                               double station_m,
                               double station_sd_m,
                               struct fw_table **table,
                               struct fw_error *error);

/**
 * The places of the pipe nearest to a point on the surface, east and north in m: a table, usually of one row.
 *
 * `*table` is the caller's, to be freed by fw_table_free. No rows where the plan is not determined.
 */
fw_status fw_lateral_nearest(const struct fw_lateral *lateral,
                             double east_m,
                             double north_m,
                             struct fw_table **table,
                             struct fw_error *error);

/**
 * What to re-lay at least cost, or why no re-laying helps, for what is asked in JSON (`relay` of a job); NULL with a
 * length of 0: what the job asks.
 *
 * `rulebook` NULL: that of the job. The tables of `*document` are "relay", "stretches", "pieces", "nodes",
 * "quantities", "short", "sentences". It is the caller's, to be freed by fw_document_free.
 */
fw_status fw_lateral_relay(const struct fw_lateral *lateral,
                           const char *choice_json,
                           size_t choice_length,
                           const struct fw_rulebook *rulebook,
                           struct fw_document **document,
                           struct fw_error *error);

/**
 * What the reaches carry, and what it would take, for what is asked in JSON (`capacity` of a job); NULL with a length
 * of 0: what the job asks.
 *
 * The tables of `*document` are "carrying", "capacity" and "needed". It is the caller's, to be freed by
 * fw_document_free.
 */
fw_status fw_lateral_capacity(const struct fw_lateral *lateral,
                              const char *capacity_json,
                              size_t capacity_length,
                              struct fw_document **document,
                              struct fw_error *error);

/**
 * Stretches that no reading saw, or on which runs contradict each other: pairs of stations, m, one after the other,
 * into `buffer` of `capacity` numbers.
 */
fw_status fw_lateral_unseen(const struct fw_lateral *lateral,
                            double *buffer,
                            size_t capacity,
                            size_t *needed,
                            struct fw_error *error);

/**
 * Odd but usable input: a table of one column, "text". Show it.
 *
 * `*table` is the caller's, to be freed by fw_table_free.
 */
fw_status fw_lateral_warnings(const struct fw_lateral *lateral, struct fw_table **table, struct fw_error *error);

/**
 * The position of each of `count` stations, m, into three buffers of `count` numbers: east, north,
 * and height above the lowest station. East and north are NaN where the plan is not determined.
 *
 * Fails with FW_NOT_SURVEYED.
 */
fw_status fw_lateral_positions(const struct fw_lateral *lateral,
                               const double *station_m,
                               size_t count,
                               double *east_m,
                               double *north_m,
                               double *height_m,
                               struct fw_error *error);

/**
 * Sets all of it: 1 m of lag, cells of 50 mm, 512 of them at most, a million readings, no draws.
 *
 * `struct_size` is `sizeof(fw_live_options)`, which is written too.
 */
fw_status fw_live_options_init(struct fw_live_options *options, size_t struct_size, struct fw_error *error);

/**
 * A run to come, in a job that has no run, or one without readings, which says how the counter counts and where it starts.
 *
 * The job is only read, and may be freed afterwards. `options` may be NULL. `*live` is the caller's, to be freed by fw_live_free. Fails with FW_INPUT for
 * a job with readings or as-built inverts, or options out of range.
 */
fw_status fw_live_new(const struct fw_job *job,
                      const struct fw_live_options *options,
                      struct fw_live **live,
                      struct fw_error *error);

/**
 * Takes a reading, in constant time over many of them: cable out, m, and what the head reports, rad, sign as it comes.
 *
 * `time_s` and `roll_rad` are NaN, and `moving` -1, where they are not known; each must be known with every reading or with none. Fails with FW_INPUT,
 * `row` the number of the reading from 0, for a value that is not finite and for more readings than the options allow; nothing is kept of it then.
 */
fw_status fw_live_push(struct fw_live *live,
                       double counter_m,
                       double reading_rad,
                       double time_s,
                       double roll_rad,
                       int32_t moving,
                       struct fw_error *error);

/**
 * Readings so far.
 */
fw_status fw_live_count(const struct fw_live *live, size_t *count, struct fw_error *error);

/**
 * What the readings say so far: a lateral like any other, up to `*settled_to_m`, m, the lag behind the farthest that the head came.
 *
 * Ask it for its profile, segments, pools and findings; what the job says of pipe beyond is left out, as are digs, a plan of re-laying and what the pipe
 * carries. `settled_to_m` may be NULL. `*lateral` is the caller's. Takes about a millisecond without draws, after many readings as after few. Fails
 * with FW_NOT_DETERMINED while the readings are too few.
 */
fw_status fw_live_provisional(const struct fw_live *live,
                              struct fw_lateral **lateral,
                              double *settled_to_m,
                              struct fw_error *error);

/**
 * What the readings say so far, in one sentence that says how far it reaches; against `rulebook`, or where that is NULL against the job's, or none.
 *
 * It is worked out anew at each call, also where it only asks how long the text is: give room enough at once, 1000 bytes do.
 */
fw_status fw_live_sentence(const struct fw_live *live,
                           const struct fw_rulebook *rulebook,
                           char *buffer,
                           size_t capacity,
                           size_t *needed,
                           struct fw_error *error);

/**
 * The job with its run, a handle of the caller's: to solve it by fw_lateral_solve with options, or to keep it. The run goes on.
 */
fw_status fw_live_job(const struct fw_live *live,
                      struct fw_job **job,
                      struct fw_error *error);

/**
 * The lateral of all readings: to the bit what fw_lateral_solve gives for a job with the same readings. `*lateral` is the caller's; the run may go on.
 */
fw_status fw_live_finish(const struct fw_live *live,
                         struct fw_lateral **lateral,
                         struct fw_error *error);

/**
 * Frees it; NULL is nothing.
 */
void fw_live_free(struct fw_live *live);

/**
 * A published table, each row with its document and how sure it is (`source`, `mark`). Nothing is taken from it by itself: it is for whoever chooses a
 * roughness or counts fixtures. The code as adopted locally governs.
 *
 * `which` is fw_published. `*table` is the caller's, to be freed by fw_table_free.
 */
fw_status fw_hydraulics_published(uint32_t which,
                                  struct fw_table **table,
                                  struct fw_error *error);

/**
 * The most drainage fixture units that a code (fw_plumbing_code) allows a drain of a nominal size, inches, at a slope, a ratio (1/4 in/ft is 1/48, which is
 * not 2 %); NaN where its table has none.
 */
fw_status fw_hydraulics_most_fixture_units(double nominal_in,
                                           double slope,
                                           uint32_t code,
                                           double *most_units,
                                           struct fw_error *error);

/**
 * The smallest nominal size, inches, that a code (fw_plumbing_code) allows for so many drainage fixture units at a slope, a ratio; NaN where no size of its
 * table will do. `serves_wc` is 1 where a water closet discharges into it, which takes 3 in at least, and 0 where none does.
 */
fw_status fw_hydraulics_drain_for_fixture_units(double units,
                                                double slope,
                                                int32_t serves_wc,
                                                uint32_t code,
                                                double *nominal_in,
                                                struct fw_error *error);

/**
 * Conditions a run as solving does: a table of the readings that are left (`station_m`, `tilt_rad`, `weight`,
 * `index`), and one of what was done to the others (`index`, `action`, `reason`, `removed_fall_m`).
 *
 * `instrument` NULL: what is usual. `bends_m` are `bends` stations of bends, m, or NULL. `edits` may be NULL. The
 * tables are the caller's, to be freed by fw_table_free.
 */
fw_status fw_condition(const struct fw_run *run,
                       const struct fw_instrument *instrument,
                       const double *bends_m,
                       size_t bends,
                       struct fw_table **trace,
                       struct fw_table **edits,
                       struct fw_error *error);

/**
 * Reads a log (CSV) and adds it to a job as a run of this name.
 *
 * `bytes` are those of the file. `format_json` says what is known of it (columns, units, delimiter: the fields of the
 * core's `LogFormat`); NULL with a length of 0: found in the log, or an error. `like` gives what the log does not say
 * (signs, direction, start); its arrays are not used; NULL: what fw_run_init sets. Fails with FW_FORMAT: row and
 * column are in the error; the job is then as it was.
 */
fw_status fw_job_add_log(struct fw_job *job,
                         const char *name,
                         size_t name_length,
                         const uint8_t *bytes,
                         size_t length,
                         const char *format_json,
                         size_t format_length,
                         const struct fw_run *like,
                         struct fw_error *error);

/**
 * The zero error of a head, rad, and its standard deviation, from two readings on one steady spot, the second turned
 * end for end.
 *
 * Readings and zero positive downwards. `sd_rad` of each reading; NaN: from the step of the display and how well a
 * head can be laid twice.
 */
fw_status fw_zero_by_reversal(double first_rad,
                              double second_rad,
                              double sd_rad,
                              double *zero_rad,
                              double *zero_sd_rad,
                              struct fw_error *error);

/**
 * How many runs a job has.
 */
fw_status fw_job_runs(const struct fw_job *job, size_t *runs, struct fw_error *error);

/**
 * All files of a report through a sink: result.json, the CSV tables, drawings, map, cautions, then pages and pictures:
 * what a folder of the main program has.
 *
 * Fails with FW_SINK, FW_REPORT, FW_NOT_BUILT. Writes nothing itself.
 */
fw_status fw_report_files(const struct fw_answers *answers, fw_sink sink, void *user, struct fw_error *error);

/**
 * A page or picture by the name of its file, such as "owner.html" or "profile.svg", or "summary.txt": the text for a
 * terminal.
 *
 * Into `buffer` of `capacity` bytes; `*needed` counts the NUL. It is made anew in each call. Fails with
 * FW_UNKNOWN_NAME for what there is not of these answers, FW_REPORT, FW_NOT_BUILT.
 */
fw_status fw_report_page(const struct fw_answers *answers,
                         const char *name,
                         size_t name_length,
                         char *buffer,
                         size_t capacity,
                         size_t *needed,
                         struct fw_error *error);

/**
 * A rulebook that comes with the library, by its name, such as "ipc-2021".
 *
 * `name` is UTF-8 of `name_length` bytes. `*rulebook` is the caller's, to be freed by fw_rulebook_free. Fails with
 * FW_UNKNOWN_WORD.
 */
fw_status fw_rulebook_shipped(const char *name,
                              size_t name_length,
                              struct fw_rulebook **rulebook,
                              struct fw_error *error);

/**
 * A rulebook of the caller's own, from its text (TOML).
 *
 * `*rulebook` is the caller's, to be freed by fw_rulebook_free. Fails with FW_RULEBOOK, line and column in the error.
 */
fw_status fw_rulebook_parse(const char *text,
                            size_t text_length,
                            struct fw_rulebook **rulebook,
                            struct fw_error *error);

/**
 * The rulebook without what names people or places, for sharing.
 *
 * `*redacted` is the caller's, to be freed by fw_rulebook_free.
 */
fw_status fw_rulebook_redacted(const struct fw_rulebook *rulebook,
                               struct fw_rulebook **redacted,
                               struct fw_error *error);

/**
 * The rows of a rulebook as a table.
 *
 * `*table` is the caller's, to be freed by fw_table_free.
 */
fw_status fw_rulebook_rows(const struct fw_rulebook *rulebook, struct fw_table **table, struct fw_error *error);

/**
 * The rulebooks that come with the library: a table of `name` and `title`.
 *
 * `*table` is the caller's, to be freed by fw_table_free.
 */
fw_status fw_rulebooks(struct fw_table **table, struct fw_error *error);

/**
 * Frees a rulebook. NULL is allowed.
 */
void fw_rulebook_free(struct fw_rulebook *rulebook);

/**
 * The name of a status, such as "FW_TIE"; "unknown" for a number that has none.
 *
 * The text is static: never free it. May be called from any thread.
 */
const char *fw_status_name(int32_t status);

/**
 * How many rows and columns a table has.
 *
 * Fails with FW_NULL_POINTER only. Does not allocate.
 */
fw_status fw_table_size(const struct fw_table *table, size_t *rows, size_t *columns, struct fw_error *error);

/**
 * The name of a column, by its index from 0, into `buffer` of `capacity` bytes; `*needed` counts the NUL.
 *
 * Fails with FW_OUT_OF_RANGE. Does not allocate.
 */
fw_status fw_table_column_name(const struct fw_table *table,
                               size_t column,
                               char *buffer,
                               size_t capacity,
                               size_t *needed,
                               struct fw_error *error);

/**
 * A number of a table, in SI units: yes is 1 and no 0; NaN where it is not determined.
 *
 * `column` is a name of `column_length` bytes, `row` counts from 0. Fails with FW_UNKNOWN_NAME, FW_OUT_OF_RANGE, and
 * FW_BAD_VALUE for a column of texts. Does not allocate.
 */
fw_status fw_table_number(const struct fw_table *table,
                          size_t row,
                          const char *column,
                          size_t column_length,
                          double *value,
                          struct fw_error *error);

/**
 * All numbers of a column, row by row, into `buffer` of `capacity` numbers; as fw_table_number.
 */
fw_status fw_table_numbers(const struct fw_table *table,
                           const char *column,
                           size_t column_length,
                           double *buffer,
                           size_t capacity,
                           size_t *needed,
                           struct fw_error *error);

/**
 * A text of a table, UTF-8, into `buffer` of `capacity` bytes; `*needed` counts the NUL. Lists are told as JSON.
 *
 * Fails with FW_UNKNOWN_NAME, FW_OUT_OF_RANGE, FW_NOT_DETERMINED where there is none, and FW_BAD_VALUE for a column of
 * numbers. Does not allocate.
 */
fw_status fw_table_text(const struct fw_table *table,
                        size_t row,
                        const char *column,
                        size_t column_length,
                        char *buffer,
                        size_t capacity,
                        size_t *needed,
                        struct fw_error *error);

/**
 * Frees a table. NULL is allowed.
 */
void fw_table_free(struct fw_table *table);

/**
 * Adds the elevation of the invert at a place, levelled: m in the job's datum, with its standard deviation in m; 0
 * holds exactly.
 *
 * `name` (for tables and messages, UTF-8) may be NULL, here and in the functions below. They fail with FW_TIE and
 * FW_INPUT for what a tie cannot be; the job is then as it was.
 */
fw_status fw_job_add_invert_tie(struct fw_job *job,
                                const char *name,
                                size_t name_length,
                                struct fw_place at,
                                double elevation_m,
                                double sd_m,
                                struct fw_error *error);

/**
 * Adds a position in plan, such as a located point: east and north in m, and the standard deviation of each.
 */
fw_status fw_job_add_plan_tie(struct fw_job *job,
                              const char *name,
                              size_t name_length,
                              struct fw_place at,
                              double east_m,
                              double north_m,
                              double sd_m,
                              struct fw_error *error);

/**
 * Adds the direction of the pipe in plan along growing station, rad, clockwise from grid north.
 */
fw_status fw_job_add_azimuth_tie(struct fw_job *job,
                                 const char *name,
                                 size_t name_length,
                                 struct fw_place at,
                                 double azimuth_rad,
                                 double sd_rad,
                                 struct fw_error *error);

/**
 * Adds the depth that a locator shows of a transmitter behind the head, m below the ground.
 *
 * `at` is the station of the head. NaN: `sd_m` as is usual for a locator, `ground_m` and `ground_sd_m` from the job's
 * ground, `above_m` (how high the transmitter lies above the invert) 0.05 m. `behind_m` is how far the transmitter is
 * behind the head along the cable.
 */
fw_status fw_job_add_depth_tie(struct fw_job *job,
                               const char *name,
                               size_t name_length,
                               struct fw_place at,
                               double depth_m,
                               double sd_m,
                               double ground_m,
                               double ground_sd_m,
                               double behind_m,
                               double above_m,
                               struct fw_error *error);

/**
 * Adds by how much the invert is higher at the second place than at the first, m; negative where it falls.
 */
fw_status fw_job_add_height_difference_tie(struct fw_job *job,
                                           const char *name,
                                           size_t name_length,
                                           struct fw_place from,
                                           struct fw_place to,
                                           double rise_m,
                                           double sd_m,
                                           struct fw_error *error);

/**
 * Adds the true length of the pipe, m, between two stations of the counter.
 */
fw_status fw_job_add_length_tie(struct fw_job *job,
                                const char *name,
                                size_t name_length,
                                double from_m,
                                double to_m,
                                double length_m,
                                double sd_m,
                                struct fw_error *error);

/**
 * Adds two readings of the head on one steady spot, rad, the second turned end for end: half their sum is the zero
 * error.
 *
 * `sd_rad` of each reading; NaN: what is usual. `positive` is fw_tilt_positive, or FW_AS_IN_THE_RUNS.
 */
fw_status fw_job_add_reversal_check(struct fw_job *job,
                                    const char *name,
                                    size_t name_length,
                                    double first_rad,
                                    double second_rad,
                                    double sd_rad,
                                    uint32_t positive,
                                    struct fw_error *error);

/**
 * Adds a reading of the head on a surface whose tilt is known, rad, positive down the way the head looked.
 *
 * `sd_rad` of the two together. `positive` as in fw_job_add_reversal_check.
 */
fw_status fw_job_add_level_check(struct fw_job *job,
                                 const char *name,
                                 size_t name_length,
                                 double reading_rad,
                                 double surface_rad,
                                 double sd_rad,
                                 uint32_t positive,
                                 struct fw_error *error);

/**
 * Adds the two edges of one still pool, which are at one height.
 *
 * `level_sd_m` of the level at each edge, m; NaN: by how it was seen. `how` is fw_seen. `although_running` is 1 to use
 * it although the job says that water was running; else 0.
 */
fw_status fw_job_add_water_level_tie(struct fw_job *job,
                                     const char *name,
                                     size_t name_length,
                                     struct fw_place from,
                                     struct fw_place to,
                                     double level_sd_m,
                                     uint32_t how,
                                     int32_t although_running,
                                     struct fw_error *error);

/**
 * Adds the depth of still water at a place, m upright, and an edge of the same water; the rest as in
 * fw_job_add_water_level_tie.
 */
fw_status fw_job_add_water_depth_tie(struct fw_job *job,
                                     const char *name,
                                     size_t name_length,
                                     struct fw_place at,
                                     double depth_m,
                                     double sd_m,
                                     struct fw_place edge,
                                     double level_sd_m,
                                     uint32_t how,
                                     int32_t although_running,
                                     struct fw_error *error);

/**
 * A quantity with its unit from a text, in SI units and radians.
 *
 * `kind` is fw_quantity_kind. Fails with FW_INPUT: the message says what is wrong and gives an example.
 */
fw_status fw_parse_quantity(uint32_t kind, const char *text, size_t length, double *value, struct fw_error *error);

/**
 * Numbers in a unit to SI and radians: `count` of them from `values` into `out`, which may be the same.
 *
 * `unit` is "ft", "us_ft", "inch", "yard", "mm", "cm" (to m), "deg" (to rad), "percent", "in_per_ft", "mm_per_m",
 * "one_in" (to a slope), "slope" (a slope to a tilt, rad), "gallon", "imperial_gallon", "litre", "cubic_foot" (to m3),
 * "l_per_s", "gal_per_min" (to m3/s), "ft_per_s" (to m/s), "lb_per_ft2" (to Pa). Fails with FW_UNKNOWN_NAME.
 */
fw_status fw_to_si(const char *unit_name,
                   size_t unit_length,
                   const double *values,
                   size_t count,
                   double *out,
                   struct fw_error *error);

/**
 * Numbers in SI and radians to a unit; as fw_to_si.
 */
fw_status fw_from_si(const char *unit_name,
                     size_t unit_length,
                     const double *values,
                     size_t count,
                     double *out,
                     struct fw_error *error);

/**
 * Version of the library, such as "0.1.0": of what runs, where FW_VERSION_STRING is that of the header.
 *
 * The text is static: never free it. May be called from any thread.
 */
const char *fw_version(void);

/**
 * FW_ABI_VERSION of the library that runs. Where it is not that of the header, do not call anything else.
 */
uint32_t fw_abi_version(void);

/**
 * What the library was built with: FW_FEATURE_FILES, FW_FEATURE_REPORT. Calls that need what is not there return
 * FW_NOT_BUILT.
 */
uint32_t fw_features(void);

#ifdef __cplusplus
}  // extern "C"
#endif  // __cplusplus

#endif  /* FALLWISE_H */
