/* What a call costs: overhead.c FOLDER-OF-A-DEMO. Prints nanoseconds for each call; nothing is held against a bound. */
#include "check.h"

#include <time.h>

static double now_ns(void) {
    struct timespec t;
    timespec_get(&t, TIME_UTC);
    return 1e9 * (double)t.tv_sec + (double)t.tv_nsec;
}

#define MEASURE(name, count, call)                                                                                     \
    do {                                                                                                               \
        double begun_ = now_ns();                                                                                      \
        size_t i_;                                                                                                     \
        for (i_ = 0; i_ < (count); i_++) {                                                                             \
            OK(call);                                                                                                  \
        }                                                                                                              \
        printf("%-42s %8.0f ns\n", name, (now_ns() - begun_) / (double)(count));                                       \
    } while (0)

int main(int count_of, char **argument) {
    char path[1024];
    fw_job *job = NULL, *empty = NULL;
    fw_lateral *lateral = NULL;
    fw_answers *answers = NULL;
    fw_live *live = NULL;
    fw_estimate slope;
    fw_summary summary;
    double depth_m = 0.03, area = 0.0, counter_m = 0.0;
    static char text[65536];
    size_t needed = 0;
    CHECK(count_of == 2);
    snprintf(path, sizeof path, "%s/job.toml", argument[1]);
    fw_error_init(E, sizeof fw_test_error);
    OK(fw_job_from_file(T(path), &job, E));
    OK(fw_lateral_solve(job, NULL, &lateral, E));
    OK(fw_lateral_answers(lateral, NULL, NULL, &answers, E));
    OK(fw_job_new(&empty, E));
    OK(fw_live_new(empty, NULL, &live, E));
    summary.struct_size = sizeof summary;
    slope.struct_size = sizeof slope;
    MEASURE("a scalar (fw_section)", 1000000, fw_section(0.1, NAN, FW_SECTION_AREA_M2, &depth_m, 1, &area, E));
    MEASURE("a struct (fw_answers_summary)", 1000000, fw_answers_summary(answers, &summary, E));
    MEASURE("a text (fw_answers_sentence)", 1000000, fw_answers_sentence(answers, text, sizeof text, &needed, E));
    MEASURE("a reading (fw_live_push)", 900000, fw_live_push(live, counter_m += 1e-4, 0.02, NAN, NAN, -1, E));
    MEASURE("a figure with its error (slope_between)", 1000, fw_lateral_slope_between(lateral, 1.0, 9.0, &slope, E));
    fw_live_free(live);
    fw_answers_free(answers);
    fw_lateral_free(lateral);
    fw_job_free(empty);
    fw_job_free(job);
    return 0;
}
