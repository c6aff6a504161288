//! A lab of any size, made up for the benches.

/// A host with `modules` of 256 GiB and `profiles` guest profiles, alike but for their numbers.
pub fn text(modules: usize, profiles: usize) -> String {
    let modules = vec!["\"256 GiB\""; modules].join(", ");
    let guests: String = (0..profiles)
        .map(|i| {
            format!(
                "[[guest]]\nname = \"g{i}\"\nshare = {}\nmemory = \"{} MiB\"\nbusy = \"{} %\"\nreads_busy = {}\n\
                 writes_busy = {}\nnet_busy = \"{} Mbit/s\"\n",
                1 + i % 7,
                900 + 37 * (i % 41),
                2 + i % 17,
                10 + i,
                20 + i,
                5 + i % 50,
            )
        })
        .collect();
    format!(
        "[[host]]\nname = \"h\"\ncpu.groups = [{{ cores = 20000, threads = 2 }}]\nmemory.modules = [{modules}]\n\
         merging.mode = \"fixed\"\nmerging.pages_per_wake = 20000\nnetwork.link = \"1000 Gbit/s\"\n\
         [[host.disk]]\nname = \"d\"\ndevices = 90\ncapacity = \"20 TB\"\nread_iops = 200000\nwrite_iops = 200000\n\
         {guests}"
    )
}
