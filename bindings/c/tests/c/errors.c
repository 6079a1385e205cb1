/* Each kind of error, with its parts; and bad input of every kind: errors.c FOLDER-OF-DEMOS. */
#include "check.h"

static const char *demos;

static int has(const char *field, const char *part) { return strstr(field, part) != NULL; }

static int32_t missing(void *user, const char *name, size_t name_length, fw_bytes *out) {
    (void)user, (void)name, (void)name_length, (void)out;
    return 1;
}

static int32_t refused(void *user, const char *name, size_t name_length, fw_bytes *out) {
    (void)user, (void)name, (void)name_length, (void)out;
    return -5;
}

/* Gives more than anybody asked for. */
static int32_t endless(void *user, const char *name, size_t name_length, fw_bytes *out) {
    static const uint8_t block[1000] = {'0'};
    int *pieces = (int *)user;
    (void)name, (void)name_length;
    while (fw_bytes_append(out, block, sizeof block, NULL) == FW_OK) {
        *pieces += 1;
        CHECK(*pieces < 1000);
    }
    return 0;
}

static int32_t row_of_text(void *user, const char *name, size_t name_length, fw_bytes *out) {
    static const char log[] = "cable (m),tilt (deg)\n0,-1.2\n0.5,steep\n";
    (void)user, (void)name, (void)name_length;
    /* In two pieces. */
    CHECK(fw_bytes_append(out, (const uint8_t *)log, 5, NULL) == FW_OK);
    CHECK(fw_bytes_append(out, (const uint8_t *)log + 5, strlen(log) - 5, NULL) == FW_OK);
    return 0;
}

static const char ONE_LOG[] = "[[run]]\nlog = \"log.csv\"\ntilt_positive = \"up\"\n";

static void files(void) {
    fw_job_options options;
    fw_job *job = NULL;
    int pieces = 0;
    EXPECT(FW_FORMAT, fw_job_from_toml(T("[[run]]\nlog = 3\n"), NULL, &job, E));
    CHECK(fw_test_error.status == FW_FORMAT && fw_test_error.row == 2 && fw_test_error.column == 7);
    CHECK(has(fw_test_error.file, "job.toml") && has(fw_test_error.field, "run[0].log"));
    CHECK(has(fw_test_error.message, "expected") && job == NULL);
    OK(fw_job_options_init(&options, sizeof options, E));
    options.name = "mine.toml";
    options.name_length = 9;
    EXPECT(FW_FORMAT, fw_job_from_toml(T("x = \n"), &options, &job, E));
    CHECK(has(fw_test_error.file, "mine.toml"));
    options.name_length = 0;
    options.name = NULL;
    EXPECT(FW_FORMAT, fw_job_from_json(T("{\"run\": 1}"), &options, &job, E));
    CHECK(has(fw_test_error.file, "job.json"));
    /* No resolver; one that has no such file; one that refuses; one that gives too much; one whose file is at fault. */
    EXPECT(FW_FILE_MISSING, fw_job_from_toml(T(ONE_LOG), &options, &job, E));
    options.resolver = missing;
    EXPECT(FW_FILE_MISSING, fw_job_from_toml(T(ONE_LOG), &options, &job, E));
    CHECK(fw_test_error.row == 2);
    options.resolver = refused;
    EXPECT(FW_RESOLVER, fw_job_from_toml(T(ONE_LOG), &options, &job, E));
    options.resolver = endless;
    options.resolver_user = &pieces;
    options.max_file_bytes = 100000;
    EXPECT(FW_TOO_LARGE, fw_job_from_toml(T(ONE_LOG), &options, &job, E));
    CHECK(pieces == 100);
    pieces = 0;
    options.max_total_bytes = 5000;
    EXPECT(FW_TOO_LARGE, fw_job_from_toml(T(ONE_LOG), &options, &job, E));
    CHECK(pieces == 5);
    OK(fw_job_options_init(&options, sizeof options, E));
    options.resolver = row_of_text;
    EXPECT(FW_FORMAT, fw_job_from_toml(T(ONE_LOG), &options, &job, E));
    CHECK(fw_test_error.row == 3 && has(fw_test_error.file, "log.csv") && has(fw_test_error.field, "tilt"));
    options.max_text_bytes = 10;
    EXPECT(FW_TOO_LARGE, fw_job_from_toml(T(ONE_LOG), &options, &job, E));
    EXPECT(FW_FILE_MISSING, fw_job_from_file(T("/no/such/job.toml"), &job, E));
    /* Nothing outside of the folder. */
    options.max_text_bytes = 1000;
    EXPECT(FW_FORMAT,
           fw_job_from_toml(T("[[run]]\nlog = \"../log.csv\"\ntilt_positive = \"up\"\n"), &options, &job, E));
    CHECK(job == NULL);
    {
        fw_answers *answers = NULL;
        fw_comparison *comparison = NULL;
        EXPECT(FW_FORMAT,
               fw_answers_from_json(T("{\"schema\": \"fallwise-answers-9\", \"version\": \"9.0.0\"}"), &answers, E));
        CHECK(has(fw_test_error.message, "version 9"));
        EXPECT(FW_FORMAT, fw_answers_from_json(T("[1, 2"), &answers, E));
        EXPECT(FW_FORMAT, fw_comparison_from_json(T("{}"), &comparison, E));
        CHECK(answers == NULL && comparison == NULL);
    }
}

static void solving(void) {
    const double counter_m[] = {0.0, 1.0, 2.0}, bad[] = {0.0, NAN, 0.02}, good[] = {0.02, 0.02, 0.02};
    fw_job *job = NULL;
    fw_lateral *lateral = NULL;
    fw_run run;
    fw_place at = {50.0, NAN, 0, 0};
    OK(fw_job_new(&job, E));
    EXPECT(FW_INPUT, fw_lateral_solve(job, NULL, &lateral, E));
    OK(fw_run_init(&run, sizeof run, E));
    EXPECT(FW_NULL_POINTER, fw_job_add_run(job, &run, E));
    run.counter_m = counter_m;
    run.reading_rad = bad;
    EXPECT(FW_EMPTY, fw_job_add_run(job, &run, E));
    run.count = SIZE_MAX;
    EXPECT(FW_BAD_VALUE, fw_job_add_run(job, &run, E));
    run.count = 3;
    run.toward = 7;
    EXPECT(FW_BAD_VALUE, fw_job_add_run(job, &run, E));
    CHECK(has(fw_test_error.field, "run.toward"));
    run.toward = 0;
    run.tilt_positive = 2;
    EXPECT(FW_BAD_VALUE, fw_job_add_run(job, &run, E));
    run.tilt_positive = 0;
    run.by_hand = 3;
    EXPECT(FW_BAD_VALUE, fw_job_add_run(job, &run, E));
    run.by_hand = 0;
    run.name = "\xff\xfe";
    run.name_length = 2;
    EXPECT(FW_BAD_UTF8, fw_job_add_run(job, &run, E));
    CHECK(fw_test_error.row == 0);
    run.name = NULL;
    run.name_length = 0;
    OK(fw_job_add_run(job, &run, E));
    EXPECT(FW_INPUT, fw_lateral_solve(job, NULL, &lateral, E));
    CHECK(fw_test_error.row == 1 && has(fw_test_error.field, "reading_rad") && lateral == NULL);
    fw_job_free(job);

    OK(fw_job_new(&job, E));
    run.reading_rad = good;
    run.by_hand = 1;
    OK(fw_job_add_run(job, &run, E));
    EXPECT(FW_INPUT, fw_job_add_invert_tie(job, NULL, 0, at, 1.0, -1.0, E));
    at.taped = 2;
    EXPECT(FW_BAD_VALUE, fw_job_add_invert_tie(job, NULL, 0, at, 1.0, 0.1, E));
    at.taped = 0;
    EXPECT(FW_BAD_VALUE, fw_job_add_water_level_tie(job, NULL, 0, at, at, NAN, 9, 0, E));
    EXPECT(FW_BAD_VALUE, fw_job_add_reversal_check(job, NULL, 0, 0.01, -0.01, NAN, 5, E));
    OK(fw_job_add_invert_tie(job, NULL, 0, at, 1.0, 0.1, E));
    /* A tie where nobody has been. */
    {
        fw_status status = fw_lateral_solve(job, NULL, &lateral, E);
        CHECK(status == FW_TIE || status == FW_NOT_SURVEYED || status == FW_OK);
        if (status == FW_OK) {
            fw_table *warnings = NULL;
            OK(fw_lateral_warnings(lateral, &warnings, E));
            CHECK(fw_test_rows(warnings) > 0);
            fw_table_free(warnings);
        }
        fw_lateral_free(lateral);
        lateral = NULL;
    }
    fw_job_free(job);

    /* Two exact levels that disagree with each other. */
    OK(fw_job_new(&job, E));
    OK(fw_job_add_run(job, &run, E));
    at.station_m = 1.0;
    at.sd_m = 0.0;
    OK(fw_job_add_invert_tie(job, T("one"), at, 1.0, 0.0, E));
    OK(fw_job_add_invert_tie(job, T("other"), at, 2.0, 0.0, E));
    EXPECT(FW_CONTRADICTION, fw_lateral_solve(job, NULL, &lateral, E));
    CHECK(has(fw_test_error.field, "one") || has(fw_test_error.field, "other"));
    fw_job_free(job);

    /* What only solving shows has its line, as long as the job is what was read. */
    {
        static const char far_step[] =
            "[[as_built]]\nstation = \"0 m\"\ninvert = \"1 m\"\n[[as_built]]\nstation = \"9 m\"\ninvert = \"0.8 m\"\n"
            "[[step]]\nstation = \"40 ft\"\nrise = \"1 in\"\n";
        OK(fw_job_from_toml(T(far_step), NULL, &job, E));
        EXPECT(FW_NOT_SURVEYED, fw_lateral_solve(job, NULL, &lateral, E));
        CHECK(fw_test_error.row == 8 && has(fw_test_error.file, "job.toml") && fabs(fw_test_error.station_m - 12.192) < 1e-9);
        OK(fw_job_set_json(job, T("steps"), T("[{\"station_m\": 50.0, \"rise_m\": 0.01}]"), E));
        EXPECT(FW_NOT_SURVEYED, fw_lateral_solve(job, NULL, &lateral, E));
        CHECK(fw_test_error.row == -1 && fw_test_error.file[0] == 0 && fw_test_error.station_m == 50.0);
        fw_job_free(job);
    }

    /* Words, keys, JSON. */
    OK(fw_job_new(&job, E));
    EXPECT(FW_UNKNOWN_WORD, fw_job_add_standard_reach(job, NULL, 0, 0.0, 1.0, T("SDR 36"), T("4 in"), E));
    CHECK(has(fw_test_error.message, "SDR 35"));
    EXPECT(FW_INPUT, fw_job_add_reach(job, NULL, 0, 0.0, 1.0, -0.1, NAN, E));
    EXPECT(FW_BAD_VALUE, fw_job_add_reach(job, NULL, 0, NAN, 1.0, 0.1, NAN, E));
    EXPECT(FW_UNKNOWN_NAME, fw_job_set_json(job, T("instruments"), T("{}"), E));
    EXPECT(FW_JSON, fw_job_set_json(job, T("instrument"), T("{\"zero_rad\": \"none\"}"), E));
    CHECK(strcmp(fw_test_error.field, "instrument.zero_rad") == 0 && fw_test_error.row == 1 &&
          fw_test_error.column > 1);
    EXPECT(FW_JSON, fw_job_set_json(job, T("instrument"), T("{} {}"), E));
    EXPECT(FW_JSON, fw_job_add_json(job, T("bends"), T("{\"station\": 1}"), E));
    CHECK(has(fw_test_error.field, "bends[0]"));
    EXPECT(FW_UNKNOWN_NAME, fw_job_add_json(job, T("flow"), T("\"increasing\""), E));
    EXPECT(FW_EMPTY, fw_job_add_json(job, T("bends"), "", 0, E));
    EXPECT(FW_BAD_UTF8, fw_job_set_json(job, "\xc3", 1, T("1"), E));
    OK(fw_job_set_json(job, T("rules"), T("{\"rulebook\": \"no such book\"}"), E));
    EXPECT(FW_UNKNOWN_WORD, fw_lateral_solve(job, NULL, &lateral, E));
    fw_job_free(job);
    {
        fw_rulebook *book = NULL;
        EXPECT(FW_UNKNOWN_WORD, fw_rulebook_shipped(T("ipc-2022"), &book, E));
        EXPECT(FW_RULEBOOK, fw_rulebook_parse(T("name = \n"), &book, E));
        CHECK(fw_test_error.row == 1 && book == NULL);
    }
}

static void asking(void) {
    char path[1024];
    fw_job *job;
    fw_lateral *lateral = NULL;
    fw_answers *answers = NULL;
    fw_table *table = NULL;
    fw_comparison *comparison = NULL;
    fw_document *document = NULL;
    fw_estimate estimate;
    fw_segment segment;
    fw_summary summary;
    fw_relay_figures relay;
    fw_solve_options options;
    double value = 0.0;
    const double far_m[] = {1e6};
    size_t needed = 12345;
    char buffer[8];
    snprintf(path, sizeof path, "%s/two-bellies", demos);
    job = fw_test_demo(path);
    OK(fw_solve_options_init(&options, sizeof options, E));
    options.draws = -7;
    EXPECT(FW_BAD_VALUE, fw_lateral_solve(job, &options, &lateral, E));
    options.draws = 50;
    OK(fw_lateral_solve(job, &options, &lateral, E));
    OK(fw_lateral_answers(lateral, NULL, NULL, &answers, E));
    estimate.struct_size = sizeof estimate;
    estimate.value = 3.0;
    EXPECT(FW_NOT_DETERMINED, fw_lateral_slope_between(lateral, 0.0, 1e6, &estimate, E));
    EXPECT(FW_BAD_VALUE, fw_lateral_slope_between(lateral, NAN, 1.0, &estimate, E));
    CHECK(estimate.value == 3.0);
    estimate.struct_size = 0;
    EXPECT(FW_BAD_STRUCT_SIZE, fw_lateral_slope_between(lateral, 0.0, 1.0, &estimate, E));
    estimate.struct_size = SIZE_MAX;
    EXPECT(FW_BAD_STRUCT_SIZE, fw_lateral_slope_between(lateral, 0.0, 1.0, &estimate, E));
    EXPECT(FW_NOT_SURVEYED, fw_lateral_at(lateral, far_m, 1, &table, E));
    CHECK(fw_test_error.station_m == 1e6 && table == NULL);
    EXPECT(FW_NOT_SURVEYED, fw_lateral_positions(lateral, far_m, 1, &value, &value, &value, E));
    EXPECT(FW_NOT_SURVEYED, fw_lateral_covariance(lateral, far_m, 1, &value, E));
    EXPECT(FW_EMPTY, fw_lateral_at(lateral, far_m, 0, &table, E));
    EXPECT(FW_BAD_VALUE, fw_lateral_pools(lateral, INFINITY, &table, E));
    EXPECT(FW_JSON, fw_lateral_relay(lateral, T("{\"no\": 1}"), NULL, &document, E));
    EXPECT(FW_JSON, fw_lateral_capacity(lateral, T("3"), &document, E));
    EXPECT(FW_BAD_VALUE, fw_lateral_relay(lateral, NULL, 0, NULL, &document, E));
    EXPECT(FW_BAD_VALUE, fw_compare(lateral, lateral, 2, NULL, &comparison, E));
    CHECK(document == NULL && comparison == NULL);

    segment.struct_size = sizeof segment;
    EXPECT(FW_OUT_OF_RANGE, fw_answers_segment(answers, 100000, &segment, E));
    CHECK(fw_test_error.row == 100000);
    relay.struct_size = sizeof relay;
    EXPECT(FW_NOT_DETERMINED, fw_answers_relay(answers, &relay, E));
    EXPECT(FW_UNKNOWN_NAME, fw_answers_table(answers, T("segment"), &table, E));
    EXPECT(FW_UNKNOWN_WORD, fw_answers_csv(answers, T("segment"), buffer, sizeof buffer, &needed, E));
    CHECK(has(fw_test_error.message, "segments") && needed == 12345);
    EXPECT(FW_UNKNOWN_NAME, fw_report_page(answers, T("dig-7.html"), buffer, sizeof buffer, &needed, E));
    CHECK(needed == 12345);
    OK(fw_answers_table(answers, T("segments"), &table, E));
    EXPECT(FW_UNKNOWN_NAME, fw_table_number(table, 0, T("from"), &value, E));
    EXPECT(FW_OUT_OF_RANGE, fw_table_number(table, 999, T("from_m"), &value, E));
    EXPECT(FW_BAD_VALUE, fw_table_number(table, 0, T("kind"), &value, E));
    EXPECT(FW_BAD_VALUE, fw_table_text(table, 0, T("from_m"), buffer, sizeof buffer, &needed, E));
    EXPECT(FW_OUT_OF_RANGE, fw_table_column_name(table, 999, buffer, sizeof buffer, &needed, E));
    EXPECT(FW_BUFFER_TOO_SMALL, fw_table_text(table, 0, T("kind"), buffer, 3, &needed, E));
    /* "pipe" and its NUL. */
    CHECK(needed == 5);
    fw_table_free(table);

    /* A struct of a program that was built before it grew is not there yet; one of a newer program is filled as far as
     * is known. */
    {
        struct {
            fw_summary known;
            double unknown;
        } newer;
        newer.known.struct_size = sizeof newer;
        newer.unknown = 42.0;
        OK(fw_answers_summary(answers, &newer.known, E));
        CHECK(newer.known.struct_size == sizeof newer && newer.unknown == 42.0 && newer.known.segments > 0);
    }
    summary.struct_size = sizeof summary - 8;
    EXPECT(FW_BAD_STRUCT_SIZE, fw_answers_summary(answers, &summary, E));
    fw_answers_free(answers);
    fw_lateral_free(lateral);
    fw_job_free(job);
}

/* Messages are cut at the border of a character and always ended; errors that are too small or NULL are left alone. */
static void errors(void) {
    fw_job *job = NULL;
    char long_name[4000];
    size_t i;
    fw_error small;
    for (i = 0; i + 1 < sizeof long_name; i += 2) {
        memcpy(long_name + i, "\xc3\xa4", 2);
    }
    OK(fw_job_new(&job, E));
    EXPECT(FW_UNKNOWN_NAME, fw_job_set_json(job, long_name, sizeof long_name, T("1"), E));
    i = strlen(fw_test_error.message);
    CHECK(i < sizeof fw_test_error.message && i > sizeof fw_test_error.message - 3);
    /* Whole characters alone: the last byte is a second one. */
    CHECK(((unsigned char)fw_test_error.message[i - 1] & 0xc0) == 0x80);
    memset(&small, 'x', sizeof small);
    small.struct_size = 8;
    CHECK(fw_job_set_json(job, T("no"), T("1"), &small) == FW_UNKNOWN_NAME);
    CHECK(small.message[0] == 'x' && small.field[0] == 'x');
    CHECK(fw_job_set_json(job, T("no"), T("1"), NULL) == FW_UNKNOWN_NAME);
    fw_error_init(NULL, 0);
    fw_error_init(&small, sizeof small);
    CHECK(small.status == FW_OK && small.row == -1 && small.column == -1 && isnan(small.station_m) &&
          isnan(small.value));
    CHECK(small.message[0] == 0 && small.field[0] == 0 && small.file[0] == 0);
    fw_job_free(job);
}

static void by_themselves(void) {
    const double depth[] = {0.05, INFINITY}, area[] = {0.1}, station_m[] = {0.0, 1.0, 1.0};
    double out[9] = {7.0, 7.0};
    fw_pipe_flow pipe;
    fw_normal_depth normal;
    size_t needed = 0;
    fw_fit_options options;
    fw_run run;
    fw_table *table = NULL;
    EXPECT(FW_BAD_VALUE, fw_section(0.1, NAN, 99, depth, 1, out, E));
    EXPECT(FW_BAD_VALUE, fw_section(0.1, NAN, FW_SECTION_AREA_M2, depth, 2, out, E));
    CHECK(fw_test_error.row == 1 && out[0] == 7.0);
    EXPECT(FW_INPUT, fw_section(0.0, NAN, FW_SECTION_AREA_M2, depth, 1, out, E));
    EXPECT(FW_INPUT, fw_section_depth_for_area(0.1, NAN, area, 1, out, E));
    EXPECT(FW_INPUT, fw_section_full_area(NAN, NAN, out, E));
    EXPECT(FW_BAD_VALUE, fw_section_mean_area(0.1, NAN, NAN, 0.0, out, E));
    EXPECT(FW_INPUT, fw_minimum_curvature(depth, depth, depth, 2, out, E));
    CHECK(fw_test_error.row == 1);
    EXPECT(FW_BAD_VALUE, fw_dogleg(NAN, 0.0, 0.0, 0.0, out, E));
    EXPECT(FW_INPUT, fw_pools(station_m, station_m, 3, 0.1, NAN, 0, NAN, &table, E));
    EXPECT(FW_BAD_VALUE, fw_pools(station_m, station_m, 2, 0.1, NAN, 5, NAN, &table, E));
    OK(fw_pipe_flow_init(&pipe, sizeof pipe, E));
    normal.struct_size = sizeof normal;
    EXPECT(FW_INPUT, fw_hydraulics_normal_depth(&pipe, 0.001, &normal, E));
    pipe.width_m = 0.1;
    pipe.slope = -0.01;
    OK(fw_hydraulics_normal_depth(&pipe, 0.001, &normal, E));
    CHECK(normal.state == FW_FLOW_BACKFALL && isnan(normal.depth_m));
    pipe.friction = 2;
    EXPECT(FW_BAD_VALUE, fw_hydraulics_normal_depth(&pipe, 0.001, &normal, E));
    pipe.friction = FW_MANNING;
    pipe.roughness = -1.0;
    EXPECT(FW_INPUT, fw_hydraulics_most(&pipe, out, out + 1, out + 2, E));
    EXPECT(FW_BAD_STRUCT_SIZE, fw_pipe_flow_init(&pipe, 3, E));
    EXPECT(FW_JSON, fw_hydraulics_waste_water_flow(depth, 1, T("sometimes"), out, E));
    EXPECT(FW_UNKNOWN_WORD, fw_hydraulics_discharge_unit(T("fountain"), T("I"), out, out + 1, E));
    EXPECT(FW_BAD_VALUE, fw_parse_quantity(77, T("1 m"), out, E));
    EXPECT(FW_INPUT, fw_parse_quantity(FW_LENGTH, T("1"), out, E));
    EXPECT(FW_UNKNOWN_NAME, fw_to_si(T("furlong"), depth, 1, out, E));
    EXPECT(FW_INPUT, fw_geographic_place(0.0, 9.0, 0.0, 0.0, 0.0, 0.0, 0.0, out, out + 1, E));
    EXPECT(FW_BAD_VALUE, fw_zero_by_reversal(NAN, 0.0, 0.0, out, out + 1, E));
    OK(fw_fit_options_init(&options, sizeof options, E));
    options.penalty = -1.0;
    EXPECT(FW_INPUT, fw_fit_chain(station_m, station_m, NULL, 2, &options, out, out, 9, &needed, E));
    OK(fw_run_init(&run, sizeof run, E));
    run.count = 1;
    run.counter_m = station_m;
    run.reading_rad = station_m;
    EXPECT(FW_INPUT, fw_condition(&run, NULL, NULL, 0, &table, NULL, E));
    {
        fw_job *job = NULL;
        OK(fw_job_new(&job, E));
        EXPECT(FW_FORMAT, fw_job_add_log(job, T("a.csv"), (const uint8_t *)"x,y\n1,2\n", 8, NULL, 0, NULL, E));
        CHECK(has(fw_test_error.file, "a.csv"));
        EXPECT(FW_JSON, fw_job_add_log(job, T("a.csv"), (const uint8_t *)"x", 1, T("{\"colour\": 1}"), NULL, E));
        fw_job_free(job);
    }
    CHECK(table == NULL);
}

int main(int count, char **argument) {
    CHECK(count == 2);
    demos = argument[1];
    fw_error_init(E, sizeof fw_test_error);
    files();
    solving();
    asking();
    errors();
    by_themselves();
    printf("errors: %d checks\n", fw_checks);
    return 0;
}
