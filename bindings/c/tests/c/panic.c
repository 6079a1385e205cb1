/* A panic of the library is a status. Needs a library with the feature `test-panic`. */
#include "check.h"

fw_status fw_test_panic(fw_error *error);

int main(void) {
    fw_error_init(E, sizeof fw_test_error);
    CHECK(fw_test_panic(E) == FW_PANIC);
    CHECK(fw_test_error.status == FW_PANIC && strlen(fw_test_error.message) > 10);
    CHECK(fw_test_panic(NULL) == FW_PANIC);
    /* And life goes on. */
    {
        fw_job *job = NULL;
        OK(fw_job_new(&job, E));
        fw_job_free(job);
    }
    printf("panic: %d checks\n", fw_checks);
    return 0;
}
