// The ten lines of the README in C++: a run, a pipe, an instrument; slope with its error, and what a rulebook says.
#include <fallwise.hpp>

#include <cstdio>

int main() {
    try {
        const double ft = 0.3048, deg = 3.14159265358979323846 / 180.0;
        auto instrument = fallwise::detail::initial(fw_instrument_init);
        instrument.zero_sd_rad = 0.3 * deg;

        fallwise::job job;
        job.add_run({0.0, 10.0 * ft, 20.0 * ft, 30.0 * ft}, {1.5 * deg, 1.4 * deg, 1.6 * deg, 1.5 * deg})
            .add_standard_reach(0.0, 30.0 * ft, "SDR 35", "4 in")
            .set_instrument(instrument);
        const fallwise::lateral lateral = job.solve();

        const fw_estimate slope = lateral.slope_between(0.0, 30.0 * ft);
        std::printf("%.2f %% (sd %.2f %%)\n", 100.0 * slope.value, 100.0 * slope.sd);
        const auto book = fallwise::rulebook::shipped("upc-2021");
        std::printf("%s\n", lateral.check(&book).text(0, "sentence").c_str());

        // What fails says why, and where.
        try {
            fallwise::job::from_toml("[[run]]\nlog = 3\n");
        } catch (const fallwise::error &refused) {
            std::printf("%s, line %lld: %s\n", fw_status_name(refused.status()),
                        static_cast<long long>(refused.parts().row), refused.what());
        }
    } catch (const fallwise::error &failure) {
        std::fprintf(stderr, "%s: %s\n", fw_status_name(failure.status()), failure.what());
        return 1;
    }
    return 0;
}
