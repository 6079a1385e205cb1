/* The smallest library: the core without files and pages. What is left out is there and says so; the rest works. */
#include "check.h"

static int32_t sink(void *user, const char *name, size_t name_length, const uint8_t *bytes, size_t length) {
    (void)user, (void)name, (void)name_length, (void)bytes, (void)length;
    return 0;
}

int main(void) {
    const double counter_m[] = {0.5, 1.5, 2.5, 3.5}, reading_rad[] = {0.020, 0.021, -0.012, 0.020};
    fw_job *job = NULL, *none = NULL;
    fw_lateral *lateral = NULL;
    fw_answers *answers = NULL, *opened = NULL;
    fw_comparison *comparison = NULL;
    fw_table *table = NULL;
    fw_summary summary;
    fw_run run;
    size_t needed = 0;
    fw_error_init(E, sizeof fw_test_error);
    CHECK(fw_features() == 0);
    EXPECT(FW_NOT_BUILT, fw_job_from_toml(T("version = 1\n"), NULL, &none, E));
    EXPECT(FW_NOT_BUILT, fw_job_from_json(T("{}"), NULL, &none, E));
    EXPECT(FW_NOT_BUILT, fw_job_from_file(T("job.toml"), &none, E));
    EXPECT(FW_NOT_BUILT, fw_answers_from_json(T("{}"), &opened, E));
    EXPECT(FW_NOT_BUILT, fw_comparison_from_json(T("{}"), &comparison, E));
    OK(fw_job_new(&job, E));
    EXPECT(FW_NOT_BUILT, fw_job_write(job, sink, NULL, E));
    EXPECT(FW_NOT_BUILT, fw_job_add_log(job, T("log"), (const uint8_t *)"x", 1, NULL, 0, NULL, E));
    OK(fw_run_init(&run, sizeof run, E));
    run.count = 4;
    run.counter_m = counter_m;
    run.reading_rad = reading_rad;
    run.by_hand = 1;
    OK(fw_job_add_run(job, &run, E));
    OK(fw_job_set_json(job, T("rules"), T("{\"rulebook\": \"ipc-2021\"}"), E));
    OK(fw_lateral_solve(job, NULL, &lateral, E));
    OK(fw_lateral_answers(lateral, NULL, NULL, &answers, E));
    summary.struct_size = sizeof summary;
    OK(fw_answers_summary(answers, &summary, E));
    CHECK(summary.segments == 4 && summary.findings > 0 && summary.fall_sd_m > 0.0);
    OK(fw_answers_table(answers, T("segments"), &table, E));
    CHECK(fw_test_rows(table) == 4);
    fw_table_free(table);
    OK(fw_answers_json(answers, NULL, 0, &needed, E));
    CHECK(needed > 1000);
    EXPECT(FW_NOT_BUILT, fw_answers_csv(answers, T("segments"), NULL, 0, &needed, E));
    EXPECT(FW_NOT_BUILT, fw_report_files(answers, sink, NULL, E));
    EXPECT(FW_NOT_BUILT, fw_report_page(answers, T("summary.txt"), NULL, 0, &needed, E));
    OK(fw_compare(lateral, lateral, FW_SHARED_ZERO, NULL, &comparison, E));
    EXPECT(FW_NOT_BUILT, fw_comparison_files(comparison, sink, NULL, E));
    fw_comparison_free(comparison);
    fw_answers_free(answers);
    fw_lateral_free(lateral);
    fw_job_free(job);
    printf("lean: %d checks\n", fw_checks);
    return 0;
}
