/* Any number at every place where one stands. Made from the header by tests/calls.rs; do not edit. */
#include "check.h"

#include <float.h>

enum { ROUNDS = 120, PLACES = 32, LENGTH = 64 };

/* Where functions put what they give: a row for each argument. */
static double room[PLACES][LENGTH];

static uint64_t state = 1;

/* Calls that gave something. */
static int answered = 0;

/* The next of a fixed sequence (a linear congruence: Knuth, The Art of Computer Programming, 3.3.4), below a number. */
static unsigned next(unsigned below) {
    state = state * UINT64_C(6364136223846793005) + UINT64_C(1442695040888963407);
    return (unsigned)(state >> 33) % below;
}

static double usual(void) {
    static const double numbers[] = {0.01, 0.02, 0.1, 0.15, 0.35, 0.6, 2.0, 12.5};
    return numbers[next(8)];
}

/* Zeros of both signs, denormal, next to 1, huge, endless, and not a number, with and without payload. */
static double odd(int n) {
    static const uint64_t bits[] = {
        UINT64_C(0x0000000000000000), UINT64_C(0x8000000000000000), UINT64_C(0x0000000000000001),
        UINT64_C(0x8000000000000001), UINT64_C(0x000FFFFFFFFFFFFF), UINT64_C(0x0010000000000000),
        UINT64_C(0x01A56E1FC2F8F359), UINT64_C(0x3C9CD2B297D889BC), UINT64_C(0x3FEFFFFFFFFFFFFF),
        UINT64_C(0x3FF0000000000001), UINT64_C(0xBFF0000000000000), UINT64_C(0x3FF921FB54442D18),
        UINT64_C(0x400921FB54442D18), UINT64_C(0x4056800000000000), UINT64_C(0x4197D78400000000),
        UINT64_C(0x5FE69E8B00000000), UINT64_C(0x7E37E43C8800759C), UINT64_C(0x7FEFFFFFFFFFFFFF),
        UINT64_C(0xFFEFFFFFFFFFFFFF), UINT64_C(0x7FF0000000000000), UINT64_C(0xFFF0000000000000),
        UINT64_C(0x7FF8000000000000), UINT64_C(0xFFF80000DEADBEEF), UINT64_C(0x7FF0000000000001),
    };
    double value;
    memcpy(&value, &bits[(unsigned)n % (sizeof bits / sizeof *bits)], sizeof value);
    return value;
}

/* One that is odd now and then. */
static double some(int spoil) {
    return spoil && next(2) ? odd((int)next(1000)) : usual();
}

static const double *array(int spoil) {
    static double numbers[4][4];
    static int turn = 0;
    double *to = numbers[turn++ % 4], sum = 0;
    int i;
    for (i = 0; i < 4; i++) {
        sum += usual();
        to[i] = sum;
    }
    if (spoil) {
        to[next(4)] = odd((int)next(1000));
    }
    return to;
}

static const double *odds(void) {
    return array(1);
}

static const double *usuals(void) {
    return array(0);
}

static fw_place place(int spoil) {
    fw_place given = {some(spoil), some(spoil), 0, 0};
    return given;
}

static const fw_pipe_flow *pipe(int spoil) {
    static fw_pipe_flow given;
    OK(fw_pipe_flow_init(&given, sizeof given, E));
    given.width_m = some(spoil);
    given.height_m = some(spoil);
    given.slope = some(spoil);
    given.friction = next(2);
    given.roughness = some(spoil);
    given.viscosity_m2_s = some(spoil);
    return &given;
}

static const fw_run *run(int spoil) {
    static fw_run given;
    OK(fw_run_init(&given, sizeof given, E));
    given.count = 4;
    given.counter_m = array(spoil);
    given.reading_rad = array(spoil);
    given.time_s = next(2) ? array(spoil) : NULL;
    given.roll_rad = next(2) ? array(spoil) : NULL;
    given.start_station_m = some(spoil);
    return &given;
}

static const fw_instrument *instrument(int spoil) {
    static fw_instrument given;
    OK(fw_instrument_init(&given, sizeof given, E));
    given.zero_sd_rad = some(spoil);
    given.head_length_m = some(spoil);
    given.resolution_rad = some(spoil);
    given.counter_scale_sd = some(spoil);
    return &given;
}

static const fw_fit_options *options(int spoil) {
    static fw_fit_options given;
    OK(fw_fit_options_init(&given, sizeof given, E));
    given.noise_sd_rad = some(spoil);
    given.penalty = some(spoil);
    return &given;
}

/* Whatever struct is put there has a size. */
static void *sized(double *at) {
    size_t size = LENGTH * sizeof *at;
    memcpy(at, &size, sizeof size);
    return at;
}

static void clear(void) {
    int i, j;
    for (i = 0; i < PLACES; i++) {
        for (j = 0; j < LENGTH; j++) {
            room[i][j] = 0.5;
        }
    }
}

/* A status that there is, with words where it is none of success; and nothing endless given. Not a number means absent. */
static void look(fw_status status, const char *call) {
    int i, j;
    fw_checks += 1;
    if (status == FW_PANIC || strcmp(fw_status_name(status), "unknown") == 0 || (status != FW_OK && !fw_test_error.message[0])) {
        fprintf(stderr, "%s gave %s: %s\n", call, fw_status_name(status), fw_test_error.message);
        exit(1);
    }
    answered += status == FW_OK;
    for (i = 0; status == FW_OK && i < PLACES; i++) {
        for (j = 0; j < LENGTH; j++) {
            /* A surface without width has a wave without speed. */
            if (!strstr(call, "fw_hydraulics_froude") && (room[i][j] > DBL_MAX || room[i][j] < -DBL_MAX)) {
                fprintf(stderr, "%s gave an endless number\n", call);
                exit(1);
            }
        }
    }
}

#define ANY(call)                                                                                                          do {                                                                                                                       clear();                                                                                                               fw_error_init(E, sizeof fw_test_error);                                                                                look(call, #call);                                                                                                 } while (0)

/* Some rounds go into one job. It is solved then, whatever it took. */
static void renew_job(int n, fw_job **job) {
    fw_lateral *solved = NULL;
    if (n % 10 == 0) {
        ANY(fw_lateral_solve(*job, NULL, &solved, E));
        fw_lateral_free(solved);
        fw_job_free(*job);
        *job = NULL;
        OK(fw_job_new(job, E));
        OK(fw_job_add_run(*job, run(0), E));
    }
}

static void renew_live(int n, fw_live **live) {
    fw_lateral *solved = NULL;
    fw_job *job = NULL;
    if (n % 10 == 0) {
        ANY(fw_live_provisional(*live, &solved, NULL, E));
        fw_lateral_free(solved);
        fw_live_free(*live);
        *live = NULL;
        OK(fw_job_new(&job, E));
        OK(fw_live_new(job, NULL, live, E));
        fw_job_free(job);
    }
}

int main(void) {
    static void *place_for_a_pointer[1];
    static const double breaks_m[] = {0.0, 1.0}, tilt_rad[] = {0.02};
    int n;
    fw_job *job = NULL;
    fw_live *live = NULL;
    fw_lateral *lateral = NULL;
    fw_answers *answers = NULL;
    fw_table *table = NULL;
    fw_rulebook *rulebook = NULL;
    (void)place_for_a_pointer;
    fw_error_init(E, sizeof fw_test_error);
    OK(fw_job_new(&job, E));
    OK(fw_live_new(job, NULL, &live, E));
    OK(fw_lateral_from_segments(breaks_m, 2, tilt_rad, 1, 0.1, NAN, &lateral, E));
    OK(fw_rulebook_shipped(T("ipc-2021"), &rulebook, E));
    OK(fw_lateral_answers(lateral, rulebook, NULL, &answers, E));
    OK(fw_answers_table(answers, T("segments"), &table, E));
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_run(job, run(1), E));
        ANY(fw_job_add_run(job, run(1), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_standard_reach(job, "x", 1, odd(n), usual(), "x", 1, "x", 1, E));
        ANY(fw_job_add_standard_reach(job, "x", 1, usual(), odd(n), "x", 1, "x", 1, E));
        ANY(fw_job_add_standard_reach(job, "x", 1, odd(n), odd(n), "x", 1, "x", 1, E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_reach(job, "x", 1, odd(n), usual(), usual(), usual(), E));
        ANY(fw_job_add_reach(job, "x", 1, usual(), odd(n), usual(), usual(), E));
        ANY(fw_job_add_reach(job, "x", 1, usual(), usual(), odd(n), usual(), E));
        ANY(fw_job_add_reach(job, "x", 1, usual(), usual(), usual(), odd(n), E));
        ANY(fw_job_add_reach(job, "x", 1, odd(n), odd(n), odd(n), odd(n), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_set_instrument(job, instrument(1), E));
        ANY(fw_job_set_instrument(job, instrument(1), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_bend(job, odd(n), usual(), usual(), usual(), E));
        ANY(fw_job_add_bend(job, usual(), odd(n), usual(), usual(), E));
        ANY(fw_job_add_bend(job, usual(), usual(), odd(n), usual(), E));
        ANY(fw_job_add_bend(job, usual(), usual(), usual(), odd(n), E));
        ANY(fw_job_add_bend(job, odd(n), odd(n), odd(n), odd(n), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_step(job, odd(n), usual(), usual(), E));
        ANY(fw_job_add_step(job, usual(), odd(n), usual(), E));
        ANY(fw_job_add_step(job, usual(), usual(), odd(n), E));
        ANY(fw_job_add_step(job, odd(n), odd(n), odd(n), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_as_built(job, odds(), usuals(), 4, usual(), E));
        ANY(fw_job_add_as_built(job, usuals(), odds(), 4, usual(), E));
        ANY(fw_job_add_as_built(job, usuals(), usuals(), 4, odd(n), E));
        ANY(fw_job_add_as_built(job, odds(), odds(), 4, odd(n), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_hydraulics_at_depth(pipe(1), usual(), room[2], room[3], room[4], E));
        ANY(fw_hydraulics_at_depth(pipe(0), odd(n), room[2], room[3], room[4], E));
        ANY(fw_hydraulics_at_depth(pipe(1), odd(n), room[2], room[3], room[4], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_hydraulics_normal_depth(pipe(1), usual(), (struct fw_normal_depth *)sized(room[2]), E));
        ANY(fw_hydraulics_normal_depth(pipe(0), odd(n), (struct fw_normal_depth *)sized(room[2]), E));
        ANY(fw_hydraulics_normal_depth(pipe(1), odd(n), (struct fw_normal_depth *)sized(room[2]), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_hydraulics_most(pipe(1), room[1], room[2], room[3], E));
        ANY(fw_hydraulics_most(pipe(1), room[1], room[2], room[3], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_hydraulics_critical_depth(odd(n), usual(), usual(), room[3], E));
        ANY(fw_hydraulics_critical_depth(usual(), odd(n), usual(), room[3], E));
        ANY(fw_hydraulics_critical_depth(usual(), usual(), odd(n), room[3], E));
        ANY(fw_hydraulics_critical_depth(odd(n), odd(n), odd(n), room[3], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_hydraulics_froude(odd(n), usual(), usual(), usual(), room[4], E));
        ANY(fw_hydraulics_froude(usual(), odd(n), usual(), usual(), room[4], E));
        ANY(fw_hydraulics_froude(usual(), usual(), odd(n), usual(), room[4], E));
        ANY(fw_hydraulics_froude(usual(), usual(), usual(), odd(n), room[4], E));
        ANY(fw_hydraulics_froude(odd(n), odd(n), odd(n), odd(n), room[4], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_hydraulics_slope_for(pipe(1), 0, usual(), usual(), room[4], E));
        ANY(fw_hydraulics_slope_for(pipe(0), 0, odd(n), usual(), room[4], E));
        ANY(fw_hydraulics_slope_for(pipe(0), 0, usual(), odd(n), room[4], E));
        ANY(fw_hydraulics_slope_for(pipe(1), 0, odd(n), odd(n), room[4], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_hydraulics_slope_for_shear(odd(n), usual(), usual(), usual(), room[4], E));
        ANY(fw_hydraulics_slope_for_shear(usual(), odd(n), usual(), usual(), room[4], E));
        ANY(fw_hydraulics_slope_for_shear(usual(), usual(), odd(n), usual(), room[4], E));
        ANY(fw_hydraulics_slope_for_shear(usual(), usual(), usual(), odd(n), room[4], E));
        ANY(fw_hydraulics_slope_for_shear(odd(n), odd(n), odd(n), odd(n), room[4], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_hydraulics_diameter_for(pipe(1), usual(), usual(), room[3], E));
        ANY(fw_hydraulics_diameter_for(pipe(0), odd(n), usual(), room[3], E));
        ANY(fw_hydraulics_diameter_for(pipe(0), usual(), odd(n), room[3], E));
        ANY(fw_hydraulics_diameter_for(pipe(1), odd(n), odd(n), room[3], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_hydraulics_self_cleansing(pipe(1), usual(), usual(), usual(), (int32_t *)sized(room[4]), (int32_t *)sized(room[5]), E));
        ANY(fw_hydraulics_self_cleansing(pipe(0), odd(n), usual(), usual(), (int32_t *)sized(room[4]), (int32_t *)sized(room[5]), E));
        ANY(fw_hydraulics_self_cleansing(pipe(0), usual(), odd(n), usual(), (int32_t *)sized(room[4]), (int32_t *)sized(room[5]), E));
        ANY(fw_hydraulics_self_cleansing(pipe(0), usual(), usual(), odd(n), (int32_t *)sized(room[4]), (int32_t *)sized(room[5]), E));
        ANY(fw_hydraulics_self_cleansing(pipe(1), odd(n), odd(n), odd(n), (int32_t *)sized(room[4]), (int32_t *)sized(room[5]), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_hydraulics_critical_shear(odd(n), room[1], E));
        ANY(fw_hydraulics_critical_shear(odd(n), room[1], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_hydraulics_viscosity(odd(n), room[1], E));
        ANY(fw_hydraulics_viscosity(odd(n), room[1], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_hydraulics_waste_water_flow(odds(), 4, "x", 1, room[4], E));
        ANY(fw_hydraulics_waste_water_flow(odds(), 4, "x", 1, room[4], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_section(odd(n), usual(), 0, usuals(), 4, room[5], E));
        ANY(fw_section(usual(), odd(n), 0, usuals(), 4, room[5], E));
        ANY(fw_section(usual(), usual(), 0, odds(), 4, room[5], E));
        ANY(fw_section(odd(n), odd(n), 0, odds(), 4, room[5], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_section_depth_for_area(odd(n), usual(), usuals(), 4, room[4], E));
        ANY(fw_section_depth_for_area(usual(), odd(n), usuals(), 4, room[4], E));
        ANY(fw_section_depth_for_area(usual(), usual(), odds(), 4, room[4], E));
        ANY(fw_section_depth_for_area(odd(n), odd(n), odds(), 4, room[4], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_section_full_area(odd(n), usual(), room[2], E));
        ANY(fw_section_full_area(usual(), odd(n), room[2], E));
        ANY(fw_section_full_area(odd(n), odd(n), room[2], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_section_mean_area(odd(n), usual(), usual(), usual(), room[4], E));
        ANY(fw_section_mean_area(usual(), odd(n), usual(), usual(), room[4], E));
        ANY(fw_section_mean_area(usual(), usual(), odd(n), usual(), room[4], E));
        ANY(fw_section_mean_area(usual(), usual(), usual(), odd(n), room[4], E));
        ANY(fw_section_mean_area(odd(n), odd(n), odd(n), odd(n), room[4], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_minimum_curvature(odds(), usuals(), usuals(), 4, room[4], E));
        ANY(fw_minimum_curvature(usuals(), odds(), usuals(), 4, room[4], E));
        ANY(fw_minimum_curvature(usuals(), usuals(), odds(), 4, room[4], E));
        ANY(fw_minimum_curvature(odds(), odds(), odds(), 4, room[4], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_dogleg(odd(n), usual(), usual(), usual(), room[4], E));
        ANY(fw_dogleg(usual(), odd(n), usual(), usual(), room[4], E));
        ANY(fw_dogleg(usual(), usual(), odd(n), usual(), room[4], E));
        ANY(fw_dogleg(usual(), usual(), usual(), odd(n), room[4], E));
        ANY(fw_dogleg(odd(n), odd(n), odd(n), odd(n), room[4], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        fw_table *made_table = NULL;
        ANY(fw_pools(odds(), usuals(), 4, usual(), usual(), 0, usual(), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
        ANY(fw_pools(usuals(), odds(), 4, usual(), usual(), 0, usual(), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
        ANY(fw_pools(usuals(), usuals(), 4, odd(n), usual(), 0, usual(), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
        ANY(fw_pools(usuals(), usuals(), 4, usual(), odd(n), 0, usual(), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
        ANY(fw_pools(usuals(), usuals(), 4, usual(), usual(), 0, odd(n), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
        ANY(fw_pools(odds(), odds(), 4, odd(n), odd(n), 0, odd(n), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_fit_chain(odds(), usuals(), usuals(), 4, options(0), room[5], room[6], 4, (size_t *)sized(room[8]), E));
        ANY(fw_fit_chain(usuals(), odds(), usuals(), 4, options(0), room[5], room[6], 4, (size_t *)sized(room[8]), E));
        ANY(fw_fit_chain(usuals(), usuals(), odds(), 4, options(0), room[5], room[6], 4, (size_t *)sized(room[8]), E));
        ANY(fw_fit_chain(usuals(), usuals(), usuals(), 4, options(1), room[5], room[6], 4, (size_t *)sized(room[8]), E));
        ANY(fw_fit_chain(odds(), odds(), odds(), 4, options(1), room[5], room[6], 4, (size_t *)sized(room[8]), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_geographic_place(odd(n), usual(), usual(), usual(), usual(), usual(), usual(), room[7], room[8], E));
        ANY(fw_geographic_place(usual(), odd(n), usual(), usual(), usual(), usual(), usual(), room[7], room[8], E));
        ANY(fw_geographic_place(usual(), usual(), odd(n), usual(), usual(), usual(), usual(), room[7], room[8], E));
        ANY(fw_geographic_place(usual(), usual(), usual(), odd(n), usual(), usual(), usual(), room[7], room[8], E));
        ANY(fw_geographic_place(usual(), usual(), usual(), usual(), odd(n), usual(), usual(), room[7], room[8], E));
        ANY(fw_geographic_place(usual(), usual(), usual(), usual(), usual(), odd(n), usual(), room[7], room[8], E));
        ANY(fw_geographic_place(usual(), usual(), usual(), usual(), usual(), usual(), odd(n), room[7], room[8], E));
        ANY(fw_geographic_place(odd(n), odd(n), odd(n), odd(n), odd(n), odd(n), odd(n), room[7], room[8], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        fw_lateral *made_lateral = NULL;
        ANY(fw_lateral_from_segments(odds(), 4, usuals(), 4, usual(), usual(), &made_lateral, E));
        fw_lateral_free(made_lateral), made_lateral = NULL;
        ANY(fw_lateral_from_segments(usuals(), 4, odds(), 4, usual(), usual(), &made_lateral, E));
        fw_lateral_free(made_lateral), made_lateral = NULL;
        ANY(fw_lateral_from_segments(usuals(), 4, usuals(), 4, odd(n), usual(), &made_lateral, E));
        fw_lateral_free(made_lateral), made_lateral = NULL;
        ANY(fw_lateral_from_segments(usuals(), 4, usuals(), 4, usual(), odd(n), &made_lateral, E));
        fw_lateral_free(made_lateral), made_lateral = NULL;
        ANY(fw_lateral_from_segments(odds(), 4, odds(), 4, odd(n), odd(n), &made_lateral, E));
        fw_lateral_free(made_lateral), made_lateral = NULL;
    }
    for (n = 0; n < ROUNDS; n++) {
        fw_lateral *made_lateral = NULL;
        ANY(fw_lateral_from_inverts(odds(), usuals(), 4, usual(), usual(), usual(), &made_lateral, E));
        fw_lateral_free(made_lateral), made_lateral = NULL;
        ANY(fw_lateral_from_inverts(usuals(), odds(), 4, usual(), usual(), usual(), &made_lateral, E));
        fw_lateral_free(made_lateral), made_lateral = NULL;
        ANY(fw_lateral_from_inverts(usuals(), usuals(), 4, odd(n), usual(), usual(), &made_lateral, E));
        fw_lateral_free(made_lateral), made_lateral = NULL;
        ANY(fw_lateral_from_inverts(usuals(), usuals(), 4, usual(), odd(n), usual(), &made_lateral, E));
        fw_lateral_free(made_lateral), made_lateral = NULL;
        ANY(fw_lateral_from_inverts(usuals(), usuals(), 4, usual(), usual(), odd(n), &made_lateral, E));
        fw_lateral_free(made_lateral), made_lateral = NULL;
        ANY(fw_lateral_from_inverts(odds(), odds(), 4, odd(n), odd(n), odd(n), &made_lateral, E));
        fw_lateral_free(made_lateral), made_lateral = NULL;
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_lateral_slope_between(lateral, odd(n), usual(), (struct fw_estimate *)sized(room[3]), E));
        ANY(fw_lateral_slope_between(lateral, usual(), odd(n), (struct fw_estimate *)sized(room[3]), E));
        ANY(fw_lateral_slope_between(lateral, odd(n), odd(n), (struct fw_estimate *)sized(room[3]), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_lateral_fall_between(lateral, odd(n), usual(), (struct fw_estimate *)sized(room[3]), E));
        ANY(fw_lateral_fall_between(lateral, usual(), odd(n), (struct fw_estimate *)sized(room[3]), E));
        ANY(fw_lateral_fall_between(lateral, odd(n), odd(n), (struct fw_estimate *)sized(room[3]), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        fw_table *made_table = NULL;
        ANY(fw_lateral_at(lateral, odds(), 4, &made_table, E));
        fw_table_free(made_table), made_table = NULL;
        ANY(fw_lateral_at(lateral, odds(), 4, &made_table, E));
        fw_table_free(made_table), made_table = NULL;
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_lateral_covariance(lateral, odds(), 4, room[3], E));
        ANY(fw_lateral_covariance(lateral, odds(), 4, room[3], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        fw_table *made_table = NULL;
        ANY(fw_lateral_pools(lateral, odd(n), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
        ANY(fw_lateral_pools(lateral, odd(n), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
    }
    for (n = 0; n < ROUNDS; n++) {
        fw_table *made_table = NULL;
        ANY(fw_lateral_locate(lateral, odd(n), usual(), (struct fw_dig *)sized(room[3]), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
        ANY(fw_lateral_locate(lateral, usual(), odd(n), (struct fw_dig *)sized(room[3]), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
        ANY(fw_lateral_locate(lateral, odd(n), odd(n), (struct fw_dig *)sized(room[3]), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
    }
    for (n = 0; n < ROUNDS; n++) {
        fw_table *made_table = NULL;
        ANY(fw_lateral_distances(lateral, odd(n), usual(), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
        ANY(fw_lateral_distances(lateral, usual(), odd(n), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
        ANY(fw_lateral_distances(lateral, odd(n), odd(n), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
    }
    for (n = 0; n < ROUNDS; n++) {
        fw_table *made_table = NULL;
        ANY(fw_lateral_nearest(lateral, odd(n), usual(), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
        ANY(fw_lateral_nearest(lateral, usual(), odd(n), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
        ANY(fw_lateral_nearest(lateral, odd(n), odd(n), &made_table, E));
        fw_table_free(made_table), made_table = NULL;
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_lateral_positions(lateral, odds(), 4, room[3], room[4], room[5], E));
        ANY(fw_lateral_positions(lateral, odds(), 4, room[3], room[4], room[5], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_live(n, &live);
        ANY(fw_live_push(live, odd(n), usual(), usual(), usual(), 0, E));
        ANY(fw_live_push(live, usual(), odd(n), usual(), usual(), 0, E));
        ANY(fw_live_push(live, usual(), usual(), odd(n), usual(), 0, E));
        ANY(fw_live_push(live, usual(), usual(), usual(), odd(n), 0, E));
        ANY(fw_live_push(live, odd(n), odd(n), odd(n), odd(n), 0, E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_hydraulics_most_fixture_units(odd(n), usual(), 0, room[3], E));
        ANY(fw_hydraulics_most_fixture_units(usual(), odd(n), 0, room[3], E));
        ANY(fw_hydraulics_most_fixture_units(odd(n), odd(n), 0, room[3], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_hydraulics_drain_for_fixture_units(odd(n), usual(), 0, 0, room[4], E));
        ANY(fw_hydraulics_drain_for_fixture_units(usual(), odd(n), 0, 0, room[4], E));
        ANY(fw_hydraulics_drain_for_fixture_units(odd(n), odd(n), 0, 0, room[4], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        fw_table *made_trace = NULL;
        fw_table *made_edits = NULL;
        ANY(fw_condition(run(1), instrument(0), usuals(), 4, &made_trace, &made_edits, E));
        fw_table_free(made_trace), made_trace = NULL;
        fw_table_free(made_edits), made_edits = NULL;
        ANY(fw_condition(run(0), instrument(1), usuals(), 4, &made_trace, &made_edits, E));
        fw_table_free(made_trace), made_trace = NULL;
        fw_table_free(made_edits), made_edits = NULL;
        ANY(fw_condition(run(0), instrument(0), odds(), 4, &made_trace, &made_edits, E));
        fw_table_free(made_trace), made_trace = NULL;
        fw_table_free(made_edits), made_edits = NULL;
        ANY(fw_condition(run(1), instrument(1), odds(), 4, &made_trace, &made_edits, E));
        fw_table_free(made_trace), made_trace = NULL;
        fw_table_free(made_edits), made_edits = NULL;
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_log(job, "x", 1, (const uint8_t *)"x", 1, "x", 1, run(1), E));
        ANY(fw_job_add_log(job, "x", 1, (const uint8_t *)"x", 1, "x", 1, run(1), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_zero_by_reversal(odd(n), usual(), usual(), room[3], room[4], E));
        ANY(fw_zero_by_reversal(usual(), odd(n), usual(), room[3], room[4], E));
        ANY(fw_zero_by_reversal(usual(), usual(), odd(n), room[3], room[4], E));
        ANY(fw_zero_by_reversal(odd(n), odd(n), odd(n), room[3], room[4], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_invert_tie(job, "x", 1, place(1), usual(), usual(), E));
        ANY(fw_job_add_invert_tie(job, "x", 1, place(0), odd(n), usual(), E));
        ANY(fw_job_add_invert_tie(job, "x", 1, place(0), usual(), odd(n), E));
        ANY(fw_job_add_invert_tie(job, "x", 1, place(1), odd(n), odd(n), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_plan_tie(job, "x", 1, place(1), usual(), usual(), usual(), E));
        ANY(fw_job_add_plan_tie(job, "x", 1, place(0), odd(n), usual(), usual(), E));
        ANY(fw_job_add_plan_tie(job, "x", 1, place(0), usual(), odd(n), usual(), E));
        ANY(fw_job_add_plan_tie(job, "x", 1, place(0), usual(), usual(), odd(n), E));
        ANY(fw_job_add_plan_tie(job, "x", 1, place(1), odd(n), odd(n), odd(n), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_azimuth_tie(job, "x", 1, place(1), usual(), usual(), E));
        ANY(fw_job_add_azimuth_tie(job, "x", 1, place(0), odd(n), usual(), E));
        ANY(fw_job_add_azimuth_tie(job, "x", 1, place(0), usual(), odd(n), E));
        ANY(fw_job_add_azimuth_tie(job, "x", 1, place(1), odd(n), odd(n), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_depth_tie(job, "x", 1, place(1), usual(), usual(), usual(), usual(), usual(), usual(), E));
        ANY(fw_job_add_depth_tie(job, "x", 1, place(0), odd(n), usual(), usual(), usual(), usual(), usual(), E));
        ANY(fw_job_add_depth_tie(job, "x", 1, place(0), usual(), odd(n), usual(), usual(), usual(), usual(), E));
        ANY(fw_job_add_depth_tie(job, "x", 1, place(0), usual(), usual(), odd(n), usual(), usual(), usual(), E));
        ANY(fw_job_add_depth_tie(job, "x", 1, place(0), usual(), usual(), usual(), odd(n), usual(), usual(), E));
        ANY(fw_job_add_depth_tie(job, "x", 1, place(0), usual(), usual(), usual(), usual(), odd(n), usual(), E));
        ANY(fw_job_add_depth_tie(job, "x", 1, place(0), usual(), usual(), usual(), usual(), usual(), odd(n), E));
        ANY(fw_job_add_depth_tie(job, "x", 1, place(1), odd(n), odd(n), odd(n), odd(n), odd(n), odd(n), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_height_difference_tie(job, "x", 1, place(1), place(0), usual(), usual(), E));
        ANY(fw_job_add_height_difference_tie(job, "x", 1, place(0), place(1), usual(), usual(), E));
        ANY(fw_job_add_height_difference_tie(job, "x", 1, place(0), place(0), odd(n), usual(), E));
        ANY(fw_job_add_height_difference_tie(job, "x", 1, place(0), place(0), usual(), odd(n), E));
        ANY(fw_job_add_height_difference_tie(job, "x", 1, place(1), place(1), odd(n), odd(n), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_length_tie(job, "x", 1, odd(n), usual(), usual(), usual(), E));
        ANY(fw_job_add_length_tie(job, "x", 1, usual(), odd(n), usual(), usual(), E));
        ANY(fw_job_add_length_tie(job, "x", 1, usual(), usual(), odd(n), usual(), E));
        ANY(fw_job_add_length_tie(job, "x", 1, usual(), usual(), usual(), odd(n), E));
        ANY(fw_job_add_length_tie(job, "x", 1, odd(n), odd(n), odd(n), odd(n), E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_reversal_check(job, "x", 1, odd(n), usual(), usual(), 0, E));
        ANY(fw_job_add_reversal_check(job, "x", 1, usual(), odd(n), usual(), 0, E));
        ANY(fw_job_add_reversal_check(job, "x", 1, usual(), usual(), odd(n), 0, E));
        ANY(fw_job_add_reversal_check(job, "x", 1, odd(n), odd(n), odd(n), 0, E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_level_check(job, "x", 1, odd(n), usual(), usual(), 0, E));
        ANY(fw_job_add_level_check(job, "x", 1, usual(), odd(n), usual(), 0, E));
        ANY(fw_job_add_level_check(job, "x", 1, usual(), usual(), odd(n), 0, E));
        ANY(fw_job_add_level_check(job, "x", 1, odd(n), odd(n), odd(n), 0, E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_water_level_tie(job, "x", 1, place(1), place(0), usual(), 0, 0, E));
        ANY(fw_job_add_water_level_tie(job, "x", 1, place(0), place(1), usual(), 0, 0, E));
        ANY(fw_job_add_water_level_tie(job, "x", 1, place(0), place(0), odd(n), 0, 0, E));
        ANY(fw_job_add_water_level_tie(job, "x", 1, place(1), place(1), odd(n), 0, 0, E));
    }
    for (n = 0; n < ROUNDS; n++) {
        renew_job(n, &job);
        ANY(fw_job_add_water_depth_tie(job, "x", 1, place(1), usual(), usual(), place(0), usual(), 0, 0, E));
        ANY(fw_job_add_water_depth_tie(job, "x", 1, place(0), odd(n), usual(), place(0), usual(), 0, 0, E));
        ANY(fw_job_add_water_depth_tie(job, "x", 1, place(0), usual(), odd(n), place(0), usual(), 0, 0, E));
        ANY(fw_job_add_water_depth_tie(job, "x", 1, place(0), usual(), usual(), place(1), usual(), 0, 0, E));
        ANY(fw_job_add_water_depth_tie(job, "x", 1, place(0), usual(), usual(), place(0), odd(n), 0, 0, E));
        ANY(fw_job_add_water_depth_tie(job, "x", 1, place(1), odd(n), odd(n), place(1), odd(n), 0, 0, E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_to_si("m", 1, odds(), 4, room[4], E));
        ANY(fw_to_si("m", 1, odds(), 4, room[4], E));
    }
    for (n = 0; n < ROUNDS; n++) {
        ANY(fw_from_si("m", 1, odds(), 4, room[4], E));
        ANY(fw_from_si("m", 1, odds(), 4, room[4], E));
    }
    fw_table_free(table);
    fw_answers_free(answers);
    fw_rulebook_free(rulebook);
    fw_lateral_free(lateral);
    fw_live_free(live);
    fw_job_free(job);
    /* It is only an attack where a good part gets through. */
    CHECK(answered > fw_checks / 5);
    printf("numbers: %d checks, %d answered\n", fw_checks, answered);
    return 0;
}
