/* The happy path of each function, and of buffers: happy.c FOLDER-OF-DEMOS. */
#include "check.h"

static const char *demos;

static const char *demo(const char *name) {
    static char path[1024];
    snprintf(path, sizeof path, "%s/%s", demos, name);
    return path;
}

static const fw_place AT = {0.0, NAN, 0, 0};

static fw_place at(double station_m) {
    fw_place place = AT;
    place.station_m = station_m;
    return place;
}

static int near_to(double a, double b, double within) { return fabs(a - b) <= within; }

/* Counts what a sink is given. */
struct counted {
    int calls, stop_after;
    size_t bytes;
};

static int32_t count(void *user, const char *name, size_t name_length, const uint8_t *bytes, size_t length) {
    struct counted *counted = (struct counted *)user;
    CHECK(name != NULL && name_length > 0 && bytes != NULL && length > 0);
    counted->calls += 1;
    counted->bytes += length;
    return counted->calls == counted->stop_after;
}

static int32_t count_draws(void *user, size_t draw, const double *height_m, size_t heights) {
    struct counted *counted = (struct counted *)user;
    CHECK((int)draw == counted->calls && heights > 2 && isfinite(height_m[0]));
    counted->calls += 1;
    return counted->calls == counted->stop_after;
}

struct asked {
    int calls, stop_after;
    uint32_t last_stage;
};

static int32_t ask(void *user, uint32_t stage, uint64_t draws) {
    struct asked *asked = (struct asked *)user;
    CHECK(stage <= FW_STAGE_DRAWING);
    CHECK(stage == FW_STAGE_DRAWING || draws == 0);
    asked->calls += 1;
    asked->last_stage = stage;
    return asked->calls == asked->stop_after;
}

static void versions(void) {
    char buffer[32];
    snprintf(buffer, sizeof buffer, "%d.%d.%d", FW_VERSION_MAJOR, FW_VERSION_MINOR, FW_VERSION_PATCH);
    CHECK(strcmp(fw_version(), FW_VERSION_STRING) == 0);
    CHECK(strcmp(buffer, FW_VERSION_STRING) == 0);
    CHECK(FW_VERSION_NUMBER == FW_VERSION_MAJOR * 10000 + FW_VERSION_MINOR * 100 + FW_VERSION_PATCH);
    CHECK(fw_abi_version() == FW_ABI_VERSION);
    CHECK(fw_features() == (FW_FEATURE_FILES | FW_FEATURE_REPORT));
    CHECK(strcmp(fw_status_name(FW_TIE), "FW_TIE") == 0 && strcmp(fw_status_name(12345), "unknown") == 0);
}

/* The ten lines: a run, a pipe, an instrument; slope with its error. */
static fw_job *by_hand(void) {
    const double counter_m[] = {0.5, 1.5, 2.5, 3.5, 4.5, 5.5},
                 reading_rad[] = {0.020, 0.021, -0.012, 0.020, 0.019, 0.021};
    const double time_s[] = {0, 10, 20, 30, 40, 50};
    fw_job *job = NULL;
    fw_run run;
    fw_instrument instrument;
    OK(fw_job_new(&job, E));
    OK(fw_run_init(&run, sizeof run, E));
    CHECK(run.struct_size == sizeof run && isnan(run.start_invert_m) && run.counter_m == NULL);
    run.name = "by hand";
    run.name_length = 7;
    run.count = 6;
    run.counter_m = counter_m;
    run.reading_rad = reading_rad;
    run.time_s = time_s;
    run.by_hand = 1;
    run.start_azimuth_rad = 0.3;
    run.start_azimuth_sd_rad = 0.02;
    run.start_east_m = 100.0;
    run.start_north_m = 200.0;
    run.start_plan_sd_m = 0.05;
    OK(fw_job_add_run(job, &run, E));
    OK(fw_instrument_init(&instrument, sizeof instrument, E));
    CHECK(isnan(instrument.noise_sd_rad) && instrument.zero_sd_rad > 0.0);
    instrument.zero_sd_rad = 0.002;
    OK(fw_job_set_instrument(job, &instrument, E));
    OK(fw_job_add_standard_reach(job, T("garden"), 0.0, 3.0, T("SDR 35"), T("4 in"), E));
    OK(fw_job_add_reach(job, NULL, 0, 3.0, 6.0, 0.15, NAN, E));
    return job;
}

static void building(void) {
    fw_job *job = by_hand(), *copy = NULL;
    fw_lateral *lateral = NULL;
    fw_instrument exact;
    fw_estimate slope, fall;
    fw_rulebook *book = NULL;
    char *json;
    size_t needed = 0, runs = 0;
    struct counted counted = {0, 0, 0};

    OK(fw_job_runs(job, &runs, E));
    CHECK(runs == 1);
    OK(fw_job_add_bend(job, 2.0, 0.4, NAN, NAN, E));
    OK(fw_job_add_step(job, 4.0, 0.005, NAN, E));
    OK(fw_job_add_invert_tie(job, T("chamber"), at(0.5), 10.0, 0.01, E));
    OK(fw_job_add_plan_tie(job, NULL, 0, at(0.5), 100.0, 200.0, 0.1, E));
    OK(fw_job_add_azimuth_tie(job, NULL, 0, at(1.0), 0.3, 0.05, E));
    OK(fw_job_add_depth_tie(job, NULL, 0, at(3.0), 1.2, NAN, 11.25, 0.02, 0.0, NAN, E));
    OK(fw_job_add_height_difference_tie(job, NULL, 0, at(0.5), at(5.5), -0.06, 0.05, E));
    OK(fw_job_add_length_tie(job, NULL, 0, 0.5, 5.5, 5.0, 0.1, E));
    OK(fw_job_add_reversal_check(job, NULL, 0, 0.012, -0.011, NAN, FW_AS_IN_THE_RUNS, E));
    OK(fw_job_add_level_check(job, NULL, 0, 0.001, 0.0, 0.003, FW_TILT_POSITIVE_DOWN, E));
    OK(fw_job_add_water_level_tie(job, NULL, 0, at(2.2), at(2.9), NAN, FW_SEEN_EDGE, 0, E));
    OK(fw_job_add_water_depth_tie(job, NULL, 0, at(2.5), 0.005, 0.02, at(2.2), NAN, FW_SEEN_LENS, 1, E));
    OK(fw_job_set_json(job, T("flow"), T("\"increasing\""), E));
    OK(fw_job_set_json(job, T("rules"), T("{\"rulebook\": \"ipc-2021\"}"), E));
    OK(fw_job_add_json(job, T("features"), T("{\"kind\": \"joint\", \"station_m\": 3.0}"), E));
    OK(fw_job_add_json(job, T("ground"), T("{\"station_m\": 0.0, \"elevation_m\": 11.3}"), E));
    OK(fw_job_add_json(job, T("ground"), T("{\"station_m\": 6.0, \"elevation_m\": 11.3}"), E));
    OK(fw_job_json(job, NULL, 0, &needed, E));
    json = (char *)malloc(needed);
    OK(fw_job_json(job, json, needed, &needed, E));
    CHECK(strstr(json, "\"water_depth\"") != NULL && strlen(json) + 1 == needed);
    free(json);
    OK(fw_job_redacted(job, &copy, E));
    OK(fw_job_write(copy, count, &counted, E));
    CHECK(counted.calls >= 1);
    fw_job_free(copy);
    OK(fw_rulebook_shipped(T("upc-2021"), &book, E));
    OK(fw_job_set_rulebook(job, book, E));
    fw_rulebook_free(book);
    fw_job_free(job);

    job = by_hand();
    OK(fw_lateral_solve(job, NULL, &lateral, E));
    slope.struct_size = sizeof slope;
    fall.struct_size = sizeof fall;
    OK(fw_lateral_slope_between(lateral, 0.5, 1.5, &slope, E));
    CHECK(near_to(slope.value, 0.02, 0.01) && slope.sd > 0.0 && slope.low < slope.value && slope.value < slope.high);
    OK(fw_lateral_fall_between(lateral, 0.5, 5.5, &fall, E));
    CHECK(near_to(fall.value, 0.075, 0.03) && fall.sd > 0.0);
    fw_lateral_free(lateral);

    /* One pipe all along. */
    OK(fw_lateral_solve_in_one_pipe(job, T("SDR 35"), T("4 in"), NULL, &lateral, E));
    fw_lateral_free(lateral);
    OK(fw_instrument_init_exact(&exact, sizeof exact, E));
    CHECK(exact.zero_sd_rad == 0.0);
    fw_job_free(job);

    /* As-built inverts alone. */
    {
        const double station_m[] = {0.0, 10.0, 20.0}, invert_m[] = {1.0, 0.8, 0.6};
        OK(fw_job_new(&job, E));
        OK(fw_job_add_as_built(job, station_m, invert_m, 3, 0.01, E));
        OK(fw_lateral_solve(job, NULL, &lateral, E));
        OK(fw_lateral_slope_between(lateral, 0.0, 20.0, &slope, E));
        CHECK(near_to(slope.value, 0.02, 1e-4));
        fw_lateral_free(lateral);
        fw_job_free(job);
    }
}

static void texts(void) {
    static const char toml[] = "[[run]]\nlog = \"log.csv\"\ntilt_positive = \"up\"\n";
    static const char json[] =
        "{\"reading\": [{\"station\": \"0 m\", \"slope\": \"2 %\"}, {\"station\": \"2 m\", \"slope\": \"1 %\"}]}";
    static const char language[] =
        "code = \"de\"\nname = \"Deutsch\"\ndecimal = \"comma\"\n[text]\n\"Bellies\" = \"Wassers\xc3\xa4"
        "cke\"\n";
    static const char log[] = "cable (m),tilt (deg)\n0,-1.2\n0.5,-1.1\n1.0,-1.1\n1.5,-1.2\n";
    fw_job_options options;
    fw_job *job = NULL;
    size_t runs = 0;
    OK(fw_job_options_init(&options, sizeof options, E));
    options.resolver = fw_test_folder;
    options.resolver_user = (void *)demo("two-bellies");
    (void)toml;
    {
        char path[1024];
        size_t length = 0;
        char *text;
        fw_lateral *lateral = NULL;
        snprintf(path, sizeof path, "%s/job.toml", demo("two-bellies"));
        text = fw_test_read(path, &length);
        CHECK(text != NULL);
        options.resolver_user = (void *)demo("two-bellies");
        OK(fw_job_from_toml(text, length, &options, &job, E));
        free(text);
        OK(fw_lateral_solve(job, NULL, &lateral, E));
        fw_lateral_free(lateral);
        fw_job_free(job);
    }
    OK(fw_job_from_json(T(json), NULL, &job, E));
    OK(fw_job_set_language(job, T(language), E));
    fw_job_free(job);
    OK(fw_job_new(&job, E));
    OK(fw_job_add_log(job, T("log.csv"), (const uint8_t *)log, strlen(log), NULL, 0, NULL, E));
    OK(fw_job_runs(job, &runs, E));
    CHECK(runs == 1);
    fw_job_free(job);
}

static void tables(const fw_answers *answers) {
    fw_table *names = NULL, *table = NULL;
    size_t i, count_of, rows, columns, needed = 0;
    char name[64], text[4096];
    OK(fw_answers_tables(&names, E));
    count_of = fw_test_rows(names);
    CHECK(count_of > 30);
    for (i = 0; i < count_of; i++) {
        size_t column, row;
        OK(fw_table_text(names, i, T("text"), name, sizeof name, &needed, E));
        CHECK(needed == strlen(name) + 1);
        OK(fw_answers_table(answers, T(name), &table, E));
        OK(fw_table_size(table, &rows, &columns, E));
        CHECK(columns > 0);
        /* Every cell is a number or a text. */
        for (column = 0; column < columns; column++) {
            OK(fw_table_column_name(table, column, name, sizeof name, &needed, E));
            for (row = 0; row < rows && row < 3; row++) {
                double number = 0.0;
                fw_status as_number = fw_table_number(table, row, T(name), &number, E);
                fw_status as_text = fw_table_text(table, row, T(name), text, sizeof text, &needed, E);
                CHECK(as_number == FW_OK || as_number == FW_BAD_VALUE);
                CHECK(as_text == FW_OK || as_text == FW_BAD_VALUE || as_text == FW_NOT_DETERMINED ||
                      as_text == FW_BUFFER_TOO_SMALL);
                CHECK(as_number == FW_OK || as_text != FW_BAD_VALUE);
            }
        }
        fw_table_free(table);
    }
    fw_table_free(names);
}

static void rows(const fw_answers *answers, const fw_summary *summary) {
    fw_table *table = NULL;
    size_t i, needed = 0;
    double *numbers;
    OK(fw_answers_table(answers, T("segments"), &table, E));
    CHECK(fw_test_rows(table) == summary->segments);
    OK(fw_table_numbers(table, T("slope"), NULL, 0, &needed, E));
    CHECK(needed == summary->segments);
    numbers = (double *)malloc(needed * sizeof *numbers);
    OK(fw_table_numbers(table, T("slope"), numbers, needed, &needed, E));
    for (i = 0; i < summary->segments; i++) {
        fw_segment segment;
        segment.struct_size = sizeof segment;
        OK(fw_answers_segment(answers, i, &segment, E));
        CHECK(segment.number == i + 1 && segment.struct_size == sizeof segment);
        CHECK(segment.slope == numbers[i] || (isnan(segment.slope) && isnan(numbers[i])));
        CHECK(segment.tilt_sd_rad == fw_test_number(table, i, "tilt_sd_rad"));
        CHECK(segment.is_drop || segment.slope_low <= segment.slope_high);
    }
    free(numbers);
    fw_table_free(table);
    OK(fw_answers_table(answers, T("pools"), &table, E));
    for (i = 0; i < summary->pools; i++) {
        fw_pool_figures pool;
        pool.struct_size = sizeof pool;
        OK(fw_answers_pool(answers, i, &pool, E));
        CHECK(pool.state >= FW_POOL_FOUND && pool.depth_m == fw_test_number(table, i, "depth_m"));
        CHECK(pool.sill_is_last_point == (int32_t)fw_test_number(table, i, "sill_is_last_point"));
    }
    fw_table_free(table);
    for (i = 0; i < summary->findings; i++) {
        fw_finding finding;
        finding.struct_size = sizeof finding;
        OK(fw_answers_finding(answers, i, &finding, E));
        CHECK(finding.verdict >= FW_MEETS && finding.verdict <= FW_UNDECIDED);
        CHECK((finding.verdict == FW_UNDECIDED) == (finding.reason != FW_NO_REASON));
        CHECK(i != 0 || finding.verdict == summary->verdict);
    }
    for (i = 0; i < summary->reaches; i++) {
        fw_reach_figures reach;
        reach.struct_size = sizeof reach;
        OK(fw_answers_reach(answers, i, &reach, E));
        CHECK(reach.to_m > reach.from_m);
    }
    for (i = 0; i < summary->path_nodes; i++) {
        fw_path_node node;
        node.struct_size = sizeof node;
        OK(fw_answers_path_node(answers, i, &node, E));
        CHECK(isfinite(node.height_m) && node.height_sd_m >= 0.0);
    }
    for (i = 0; i < summary->next; i++) {
        fw_next next;
        next.struct_size = sizeof next;
        OK(fw_answers_next(answers, i, &next, E));
        CHECK(next.expected_decided <= (double)next.undecided_now);
    }
    for (i = 0; i < summary->digs; i++) {
        fw_dig dig;
        dig.struct_size = sizeof dig;
        OK(fw_answers_dig(answers, i, &dig, E));
        CHECK(dig.number == i + 1 && (dig.refused == isnan(dig.expect_from_m)));
    }
}

static void asked(const char *name) {
    fw_job *job = fw_test_demo(demo(name));
    fw_lateral *lateral = NULL;
    fw_answers *answers = NULL, *opened = NULL;
    fw_table *table = NULL;
    fw_summary summary;
    fw_solve_options options;
    struct asked progress = {0, 0, 0};
    struct counted counted = {0, 0, 0};
    double from_m = 0.0, to_m = 0.0, stations[2], matrix[4], east[2], north[2], height[2];
    double *station_m, *height_m;
    size_t needed = 0;
    char *text;

    OK(fw_solve_options_init(&options, sizeof options, E));
    options.draws = 100;
    options.seed = 7;
    options.progress = ask;
    options.progress_user = &progress;
    OK(fw_lateral_solve(job, &options, &lateral, E));
    CHECK(progress.calls > 0);
    OK(fw_lateral_answers(lateral, NULL, &options, &answers, E));
    CHECK(progress.last_stage == FW_STAGE_DRAWING);
    summary.struct_size = sizeof summary;
    OK(fw_answers_summary(answers, &summary, E));
    OK(fw_lateral_surveyed(lateral, &from_m, &to_m, E));
    CHECK(summary.from_m == from_m && summary.to_m == to_m && summary.segments > 0);
    tables(answers);
    rows(answers, &summary);

    /* Buffers: exactly large enough, and one too small. */
    OK(fw_answers_sentence(answers, NULL, 0, &needed, E));
    text = (char *)malloc(needed);
    memset(text, '#', needed);
    EXPECT(FW_BUFFER_TOO_SMALL, fw_answers_sentence(answers, text, needed - 1, &needed, E));
    CHECK(text[0] == '#' && text[needed - 1] == '#');
    OK(fw_answers_sentence(answers, text, needed, &needed, E));
    CHECK(strlen(text) + 1 == needed);
    free(text);
    OK(fw_answers_csv(answers, T("segments"), NULL, 0, &needed, E));
    text = (char *)malloc(needed);
    OK(fw_answers_csv(answers, T("segments"), text, needed, &needed, E));
    CHECK(strncmp(text, "number,from_m,", 14) == 0);
    free(text);
    OK(fw_answers_json(answers, NULL, 0, &needed, E));
    text = (char *)malloc(needed);
    OK(fw_answers_json(answers, text, needed, &needed, E));
    OK(fw_answers_from_json(text, needed - 1, &opened, E));
    OK(fw_answers_set_language(opened, T("code = \"xx\"\nname = \"X\"\n[text]\n"), E));
    fw_answers_free(opened);
    free(text);

    /* Pages. */
    OK(fw_report_files(answers, count, &counted, E));
    CHECK(counted.calls > 20);
    counted.calls = 0;
    counted.stop_after = 3;
    EXPECT(FW_SINK, fw_report_files(answers, count, &counted, E));
    CHECK(counted.calls == 3);
    OK(fw_report_page(answers, T("summary.txt"), NULL, 0, &needed, E));
    CHECK(needed > 100);
    OK(fw_report_page(answers, T("profile.svg"), NULL, 0, &needed, E));

    /* Questions. */
    stations[0] = from_m;
    stations[1] = 0.5 * (from_m + to_m);
    OK(fw_lateral_at(lateral, stations, 2, &table, E));
    CHECK(fw_test_rows(table) == 2 && fw_test_number(table, 1, "station_m") == stations[1]);
    fw_table_free(table);
    OK(fw_lateral_covariance(lateral, stations, 2, matrix, E));
    CHECK(matrix[1] == matrix[2] && matrix[3] > 0.0);
    OK(fw_lateral_positions(lateral, stations, 2, east, north, height, E));
    CHECK(isfinite(height[0]) && isnan(east[0]) == isnan(north[0]));
    OK(fw_lateral_profile(lateral, NULL, NULL, 0, &needed, E));
    station_m = (double *)malloc(needed * sizeof *station_m);
    height_m = (double *)malloc(needed * sizeof *height_m);
    OK(fw_lateral_profile(lateral, station_m, height_m, needed, &needed, E));
    CHECK(station_m[0] == from_m && station_m[needed - 1] == to_m);
    free(station_m);
    free(height_m);
    counted.calls = 0;
    counted.stop_after = 0;
    OK(fw_lateral_draws(lateral, 5, 1, count_draws, &counted, E));
    CHECK(counted.calls == 5);
    counted.calls = 0;
    counted.stop_after = 2;
    EXPECT(FW_SINK, fw_lateral_draws(lateral, 5, 1, count_draws, &counted, E));
    CHECK(counted.calls == 2);
    OK(fw_lateral_segments(lateral, &table, E));
    CHECK(fw_test_rows(table) == summary.segments);
    fw_table_free(table);
    OK(fw_lateral_pools(lateral, NAN, &table, E));
    CHECK(fw_test_rows(table) == summary.pools);
    fw_table_free(table);
    OK(fw_lateral_pools(lateral, 0.05, &table, E));
    fw_table_free(table);
    OK(fw_lateral_unseen(lateral, NULL, 0, &needed, E));
    OK(fw_lateral_warnings(lateral, &table, E));
    fw_table_free(table);
    {
        fw_dig dig;
        dig.struct_size = sizeof dig;
        OK(fw_lateral_locate(lateral, stations[1], NAN, &dig, &table, E));
        CHECK(dig.number == 0 && dig.station_m == stations[1] && fw_test_rows(table) == 1);
        fw_table_free(table);
        OK(fw_lateral_locate(lateral, stations[1], NAN, &dig, NULL, E));
        OK(fw_lateral_distances(lateral, stations[1], NAN, &table, E));
        fw_table_free(table);
        OK(fw_lateral_nearest(lateral, 0.0, 0.0, &table, E));
        fw_table_free(table);
    }
    {
        uint64_t undecided = 99;
        fw_rulebook *book = NULL;
        OK(fw_rulebook_shipped(T("ipc-2021"), &book, E));
        OK(fw_lateral_check(lateral, book, &undecided, &table, E));
        CHECK(undecided < 99 && fw_test_rows(table) >= 1);
        fw_table_free(table);
        OK(fw_lateral_check(lateral, book, NULL, &table, E));
        fw_table_free(table);
        OK(fw_lateral_what_next(lateral, book, &table, E));
        fw_table_free(table);
        fw_rulebook_free(book);
    }
    {
        fw_document *document = NULL;
        OK(fw_lateral_capacity(lateral, T("{\"formula\": \"manning\"}"), &document, E));
        OK(fw_document_table(document, T("capacity"), &table, E));
        fw_table_free(table);
        OK(fw_document_json(document, NULL, 0, &needed, E));
        fw_document_free(document);
    }

    /* Stopped anywhere, it makes nothing, and it can be asked again. */
    progress.calls = 0;
    progress.stop_after = 2;
    opened = NULL;
    EXPECT(FW_CANCELLED, fw_lateral_answers(lateral, NULL, &options, &opened, E));
    CHECK(opened == NULL && progress.calls == 2 && fw_test_error.status == FW_CANCELLED);
    progress.calls = 0;
    progress.stop_after = 1;
    {
        fw_lateral *none = NULL;
        EXPECT(FW_CANCELLED, fw_lateral_solve(job, &options, &none, E));
        CHECK(none == NULL);
    }
    fw_answers_free(answers);
    fw_job_free(job);
    fw_lateral_free(lateral);
}

static void relaid(void) {
    fw_job *job = fw_test_demo(demo("which-metres-to-relay"));
    fw_lateral *lateral = NULL;
    fw_answers *answers = NULL;
    fw_document *document = NULL;
    fw_relay_figures figures;
    fw_table *table = NULL;
    size_t needed = 0;
    figures.struct_size = sizeof figures;
    OK(fw_lateral_solve(job, NULL, &lateral, E));
    OK(fw_lateral_answers(lateral, NULL, NULL, &answers, E));
    OK(fw_answers_relay(answers, &figures, E));
    CHECK(figures.outcome == FW_RELAY_PLAN && figures.cost > 0.0 && figures.stretches > 0);
    OK(fw_lateral_relay(lateral, NULL, 0, NULL, &document, E));
    OK(fw_document_table(document, T("stretches"), &table, E));
    CHECK(fw_test_rows(table) == figures.stretches);
    fw_table_free(table);
    OK(fw_document_table(document, T("relay"), &table, E));
    CHECK(fw_test_number(table, 0, "cost") == figures.cost);
    fw_table_free(table);
    OK(fw_document_json(document, NULL, 0, &needed, E));
    CHECK(needed > 100);
    fw_document_free(document);
    fw_answers_free(answers);
    fw_lateral_free(lateral);
    fw_job_free(job);
}

static void compared(void) {
    fw_job *first = fw_test_demo(demo("before-relay"));
    fw_job *second = fw_test_demo(demo("after-relay"));
    fw_lateral *before = NULL, *after = NULL;
    fw_comparison *comparison = NULL, *opened = NULL;
    fw_table *table = NULL;
    struct counted counted = {0, 0, 0};
    size_t needed = 0, again = 0;
    char *text;
    OK(fw_lateral_solve(first, NULL, &before, E));
    OK(fw_lateral_solve(second, NULL, &after, E));
    OK(fw_compare(before, after, FW_SHARED_ZERO, NULL, &comparison, E));
    OK(fw_comparison_table(comparison, T("slopes"), &table, E));
    CHECK(fw_test_rows(table) > 0 && fw_test_number(table, 0, "change_sd") > 0.0);
    fw_table_free(table);
    OK(fw_comparison_files(comparison, count, &counted, E));
    CHECK(counted.calls == 3);
    OK(fw_comparison_sentence(comparison, NULL, 0, &needed, E));
    OK(fw_comparison_json(comparison, NULL, 0, &needed, E));
    text = (char *)malloc(needed);
    OK(fw_comparison_json(comparison, text, needed, &needed, E));
    OK(fw_comparison_from_json(text, needed - 1, &opened, E));
    OK(fw_comparison_json(opened, NULL, 0, &again, E));
    CHECK(again == needed);
    free(text);
    fw_comparison_free(opened);
    fw_comparison_free(comparison);
    fw_lateral_free(before);
    fw_lateral_free(after);
    fw_job_free(first);
    fw_job_free(second);
}

static void made(void) {
    const double breaks_m[] = {0.0, 10.0, 12.0, 14.0}, tilt_rad[] = {0.02, -0.01, 0.02};
    const double station_m[] = {0.0, 10.0, 12.0, 14.0}, invert_m[] = {0.2, 0.0, 0.02, -0.02};
    fw_lateral *lateral = NULL;
    fw_table *table = NULL;
    OK(fw_lateral_from_segments(breaks_m, 4, tilt_rad, 3, 0.1, NAN, &lateral, E));
    OK(fw_lateral_pools(lateral, NAN, &table, E));
    /* 2 m rising at an angle of 0.01 hold 2 sin 0.01 of water: 20 mm to a part in 1e4. */
    CHECK(fw_test_rows(table) == 1 && near_to(fw_test_number(table, 0, "depth_m"), 0.02, 1e-5));
    fw_table_free(table);
    fw_lateral_free(lateral);
    OK(fw_lateral_from_inverts(station_m, invert_m, 4, NAN, 0.1, NAN, &lateral, E));
    OK(fw_lateral_pools(lateral, NAN, &table, E));
    CHECK(fw_test_rows(table) == 1);
    fw_table_free(table);
    fw_lateral_free(lateral);
    OK(fw_pools(station_m, invert_m, 4, 0.1, NAN, 0, NAN, &table, E));
    /* The depth is measured across the pipe: 20 mm over the cosine of the steeper side, whose slope is 2 %. */
    CHECK(fw_test_rows(table) == 1 && near_to(fw_test_number(table, 0, "depth_m"), 0.02, 1e-5));
    fw_table_free(table);
}

static void by_themselves(void) {
    const double pi = 3.14159265358979323846;
    const double depths[] = {0.05, 0.1}, units[] = {2.0, 0.5}, zeros[] = {0.0, 0.0, 0.0}, stations[] = {0.0, 1.0, 2.0};
    double areas[2], back[2], value = 0.0, other = 0.0, third = 0.0, xyz[9];
    int32_t clean = -1, sheared = -1;
    fw_pipe_flow pipe;
    fw_normal_depth depth;
    fw_table *table = NULL;
    OK(fw_section(0.1, NAN, FW_SECTION_AREA_M2, depths, 2, areas, E));
    /* Half and all of a circle, to the last bits. */
    CHECK(near_to(areas[0], pi * 0.1 * 0.1 / 8.0, 1e-17) && near_to(areas[1], pi * 0.1 * 0.1 / 4.0, 1e-17));
    OK(fw_section_depth_for_area(0.1, NAN, areas, 2, back, E));
    CHECK(near_to(back[0], 0.05, 1e-15) && near_to(back[1], 0.1, 1e-9));
    OK(fw_section_full_area(0.1, NAN, &value, E));
    CHECK(value == areas[1]);
    OK(fw_section_mean_area(0.1, NAN, 0.05, 0.05, &value, E));
    CHECK(near_to(value, areas[0], 1e-15));
    OK(fw_section(0.1, 0.12, FW_SECTION_TOP_WIDTH_M, depths, 2, areas, E));
    OK(fw_minimum_curvature(stations, zeros, zeros, 3, xyz, E));
    /* Level and due north: two metres on. */
    CHECK(xyz[6] == 0.0 && xyz[7] == 2.0 && xyz[8] == 0.0);
    OK(fw_dogleg(0.0, 0.0, 0.0, 0.5, &value, E));
    CHECK(near_to(value, 0.5, 1e-15));

    OK(fw_pipe_flow_init(&pipe, sizeof pipe, E));
    pipe.width_m = 0.1;
    pipe.slope = 0.02;
    OK(fw_hydraulics_most(&pipe, &value, &other, &third, E));
    CHECK(value > third && other > 0.08 && other < 0.1);
    depth.struct_size = sizeof depth;
    OK(fw_hydraulics_normal_depth(&pipe, 0.5 * third, &depth, E));
    CHECK(depth.state == FW_FLOW_ONE_DEPTH && near_to(depth.depth_m, 0.05, 0.001));
    OK(fw_hydraulics_at_depth(&pipe, depth.depth_m, &value, &other, &third, E));
    CHECK(other > 0.5 && third > 1.0);
    OK(fw_hydraulics_slope_for(&pipe, FW_SLOPE_FOR_DEPTH, depth.depth_m, value, &other, E));
    /* Back to the slope that it came from, within what inverting twice loses. */
    CHECK(near_to(other, 0.02, 1e-9));
    OK(fw_hydraulics_slope_for(&pipe, FW_SLOPE_FOR_VELOCITY, 0.7, value, &other, E));
    OK(fw_hydraulics_slope_for(&pipe, FW_SLOPE_FOR_SHEAR, 2.0, value, &other, E));
    OK(fw_hydraulics_slope_for_shear(0.1, NAN, 0.05, 2.0, &other, E));
    OK(fw_hydraulics_diameter_for(&pipe, value, 0.5, &other, E));
    CHECK(near_to(other, 0.1, 0.01));
    OK(fw_hydraulics_critical_depth(0.1, NAN, value, &other, E));
    OK(fw_hydraulics_froude(0.1, NAN, other, value, &third, E));
    /* At critical depth it is 1 by definition. */
    CHECK(near_to(third, 1.0, 1e-9));
    OK(fw_hydraulics_self_cleansing(&pipe, value, 0.1, 0.1, &clean, &sheared, E));
    CHECK(clean == 1 && sheared == 1);
    OK(fw_hydraulics_critical_shear(0.002, &other, E));
    CHECK(other > 0.0);
    OK(fw_hydraulics_viscosity(10.0, &other, E));
    /* Water at 10 degrees: 1.31e-6 m2/s, as EN 12056-2 takes it. */
    CHECK(near_to(other, 1.31e-6, 1e-8));
    OK(fw_hydraulics_waste_water_flow(units, 2, T("intermittent"), &other, E));
    /* 0.5 * sqrt(2.5) l/s. */
    CHECK(near_to(other, 0.5e-3 * sqrt(2.5), 1e-15) || other == 2.0e-3);
    OK(fw_hydraulics_discharge_unit(T("wash basin"), T("I"), &value, &other, E));
    CHECK(value > 0.0 && value <= other);

    OK(fw_parse_quantity(FW_SLOPE, T("1/4 in/ft"), &value, E));
    CHECK(near_to(value, 0.25 / 12.0, 1e-17));
    OK(fw_parse_quantity(FW_LENGTH, T("22 ft"), &value, E));
    OK(fw_to_si(T("ft"), stations, 3, xyz, E));
    CHECK(xyz[1] == 0.3048);
    OK(fw_from_si(T("ft"), xyz, 3, xyz, E));
    CHECK(xyz[1] == 1.0);
    OK(fw_geographic_place(0.1, 0.9, 0.0, 0.0, 0.0, 0.0, 0.0, &value, &other, E));
    CHECK(near_to(value, 0.1, 1e-12) && near_to(other, 0.9, 1e-12));
    OK(fw_zero_by_reversal(0.03, -0.01, 0.002, &value, &other, E));
    CHECK(near_to(value, 0.01, 1e-17) && near_to(other, 0.002 / sqrt(2.0), 1e-15));
    OK(fw_standard_pipes(&table, E));
    CHECK(fw_test_rows(table) > 10 && fw_test_number(table, 0, "bore_m") > 0.0);
    fw_table_free(table);
    OK(fw_rulebooks(&table, E));
    CHECK(fw_test_rows(table) > 3);
    fw_table_free(table);
    {
        fw_rulebook *book = NULL, *copy = NULL;
        OK(fw_rulebook_shipped(T("ipc-2021"), &book, E));
        OK(fw_rulebook_redacted(book, &copy, E));
        OK(fw_rulebook_rows(copy, &table, E));
        CHECK(fw_test_rows(table) > 0);
        fw_table_free(table);
        fw_rulebook_free(copy);
        fw_rulebook_free(book);
    }
    {
        double station_m[40], tilt[40], breaks[41], tilts[41];
        size_t i, needed = 0;
        fw_fit_options options;
        for (i = 0; i < 40; i++) {
            station_m[i] = (double)i;
            tilt[i] = (i < 20 ? 0.02 : 0.05) + (i % 2 ? 1e-4 : -1e-4);
        }
        OK(fw_fit_options_init(&options, sizeof options, E));
        OK(fw_fit_chain(station_m, tilt, NULL, 40, &options, breaks, tilts, 41, &needed, E));
        CHECK(needed == 3 && near_to(breaks[1], 19.5, 0.51));
        /* Means of twenty readings whose errors cancel. */
        CHECK(near_to(tilts[0], 0.02, 1e-12) && near_to(tilts[1], 0.05, 1e-12));
        OK(fw_fit_chain(station_m, tilt, NULL, 40, NULL, NULL, NULL, 0, &needed, E));
        CHECK(needed == 3);
        {
            fw_run run;
            fw_table *trace = NULL, *edits = NULL;
            OK(fw_run_init(&run, sizeof run, E));
            run.count = 40;
            run.counter_m = station_m;
            run.reading_rad = tilt;
            OK(fw_condition(&run, NULL, NULL, 0, &trace, &edits, E));
            CHECK(fw_test_rows(trace) > 30);
            fw_table_free(trace);
            fw_table_free(edits);
        }
    }
}

/* A run while it is being made: constant answers on the way, and the end to the bit that of the log. */
static void live_run(void) {
    fw_job *job = NULL, *kept = NULL;
    fw_live *live = NULL;
    fw_live_options options;
    fw_lateral *so_far = NULL, *end = NULL, *of_log = NULL;
    fw_answers *one = NULL, *other = NULL;
    fw_run run;
    static double counter[600], reading[600];
    static char first[2000000], second[2000000];
    size_t count = 0, needed = 0, length = 0, i;
    double settled = 0.0;
    OK(fw_job_new(&job, E));
    OK(fw_job_set_json(job, T("instrument"), T("{\"zero_sd_rad\": 0.005}"), E));
    OK(fw_live_options_init(&options, sizeof options, E));
    CHECK(options.lag_m == 1.0 && options.most_cells == 512);
    OK(fw_live_new(job, &options, &live, E));
    EXPECT(FW_NOT_DETERMINED, fw_live_provisional(live, &so_far, &settled, E));
    for (i = 0; i < 600; i++) {
        counter[i] = 0.05 * (double)i;
        reading[i] = 0.02 + 0.002 * (double)(i % 3) + (i > 200 && i < 260 ? -0.03 : 0.0);
        OK(fw_live_push(live, counter[i], reading[i], NAN, NAN, -1, E));
    }
    EXPECT(FW_INPUT, fw_live_push(live, NAN, 0.0, NAN, NAN, -1, E));
    EXPECT(FW_INPUT, fw_live_push(live, 1.0, 0.0, 5.0, NAN, -1, E));
    EXPECT(FW_BAD_VALUE, fw_live_push(live, 1.0, 0.0, NAN, NAN, 2, E));
    OK(fw_live_count(live, &count, E));
    CHECK(count == 600);
    OK(fw_live_provisional(live, &so_far, &settled, E));
    CHECK(near_to(settled, 28.95, 1e-12));
    OK(fw_live_sentence(live, NULL, first, sizeof first, &needed, E));
    CHECK(strncmp(first, "Provisional, up to chainage 28.95 m", 35) == 0 && strlen(first) + 1 == needed);
    /* The end, the job with its run, and a log of the same readings say the same. */
    OK(fw_live_finish(live, &end, E));
    OK(fw_live_job(live, &kept, E));
    OK(fw_run_init(&run, sizeof run, E));
    run.count = 600;
    run.counter_m = counter;
    run.reading_rad = reading;
    OK(fw_job_add_run(job, &run, E));
    OK(fw_lateral_solve(job, NULL, &of_log, E));
    OK(fw_lateral_answers(end, NULL, NULL, &one, E));
    OK(fw_lateral_answers(of_log, NULL, NULL, &other, E));
    OK(fw_answers_json(one, first, sizeof first, &needed, E));
    OK(fw_answers_json(other, second, sizeof second, &length, E));
    CHECK(needed == length && memcmp(first, second, needed) == 0);
    fw_lateral_free(of_log);
    OK(fw_lateral_solve(kept, NULL, &of_log, E));
    fw_answers_free(other);
    OK(fw_lateral_answers(of_log, NULL, NULL, &other, E));
    OK(fw_answers_json(other, second, sizeof second, &length, E));
    CHECK(needed == length && memcmp(first, second, needed) == 0);
    fw_answers_free(one);
    fw_answers_free(other);
    fw_lateral_free(so_far);
    fw_lateral_free(end);
    fw_lateral_free(of_log);
    fw_live_free(live);
    /* A job with readings is no run to come. */
    live = NULL;
    EXPECT(FW_INPUT, fw_live_new(job, NULL, &live, E));
    CHECK(live == NULL);
    fw_job_free(kept);
    fw_job_free(job);
}

static void published(void) {
    fw_table *table = NULL;
    double value = 0.0;
    uint32_t which;
    for (which = FW_PUBLISHED_ROUGHNESS; which <= FW_PUBLISHED_DRAIN_UNITS; which++) {
        OK(fw_hydraulics_published(which, &table, E));
        CHECK(fw_test_rows(table) > 20);
        fw_table_free(table);
    }
    EXPECT(FW_BAD_VALUE, fw_hydraulics_published(9, &table, E));
    /* International Plumbing Code 2018, table 710.1(1): 4 in at 1/4 in/ft, 216 units; nothing at 1/16 in/ft. */
    OK(fw_hydraulics_most_fixture_units(4.0, 1.0 / 48.0, FW_IPC, &value, E));
    CHECK(value == 216.0);
    OK(fw_hydraulics_most_fixture_units(4.0, 1.0 / 192.0, FW_IPC, &value, E));
    CHECK(isnan(value));
    EXPECT(FW_BAD_VALUE, fw_hydraulics_most_fixture_units(4.0, 1.0 / 48.0, 7, &value, E));
    OK(fw_hydraulics_drain_for_fixture_units(20.0, 1.0 / 48.0, 1, FW_IPC, &value, E));
    CHECK(value == 3.0);
}

static void frees(void) {
    fw_live_free(NULL);
    fw_job_free(NULL);
    fw_lateral_free(NULL);
    fw_answers_free(NULL);
    fw_table_free(NULL);
    fw_document_free(NULL);
    fw_comparison_free(NULL);
    fw_rulebook_free(NULL);
}

int main(int count_of, char **argument) {
    CHECK(count_of == 2);
    demos = argument[1];
    fw_error_init(E, sizeof fw_test_error);
    versions();
    building();
    texts();
    asked("two-bellies");
    asked("dig-sheet");
    relaid();
    compared();
    made();
    by_themselves();
    live_run();
    published();
    frees();
    printf("happy: %d checks\n", fw_checks);
    return 0;
}
