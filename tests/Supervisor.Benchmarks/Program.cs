using System.Globalization;
using Supervisor.Benchmarks.Results;
using Supervisor.Benchmarks.Served;

namespace Supervisor.Benchmarks;

/// <summary>Measures, prints a table, and ends with 1 when a goal is missed that no computer is too slow for.</summary>
internal static class Program
{
    public static async Task<int> Main(string[] args)
    {
        if (!OperatingSystem.IsLinux())
        {
            Console.Error.WriteLine("The benchmarks need Linux: they run on pseudo-terminals.");
            return 2;
        }

        // Processes of a suite are this same program.
        switch (args)
        {
            case [ServedDrives.Option, var machine, var folder]:
                return ServedDrives.Run(machine, folder);
            case [ServedDaemon.Option, var machine, var socket, var state]:
                return await ServedDaemon.RunAsync(machine, socket, state);
            case [ServedReaders.Option, var socket, var count]:
                return await ServedReaders.RunAsync(socket, int.Parse(count, CultureInfo.InvariantCulture));
        }

        if (Arguments.Read(args, [.. Suites.All.Select(suite => suite.Name)], out var error) is not { } arguments)
        {
            Console.Error.WriteLine(error);
            Console.Error.WriteLine(Arguments.Usage);
            return 2;
        }

        // Average number of runnable tasks over the last minute (proc_loadavg(5)): above nought before anything was begun, others work here too.
        Console.Error.WriteLine($"{Environment.ProcessorCount} processors, load {File.ReadAllText("/proc/loadavg").Split(' ')[0]} before the first suite");
        var results = new List<BenchmarkResult>();
        var isWhole = true;
        foreach (var (name, tells, run) in Suites.All.Where(suite => arguments.Suites.Count == 0 || arguments.Suites.Contains(suite.Name)))
        {
            Console.Error.WriteLine($"{name}: {tells}");
            isWhole &= Take(results, () => run(arguments));
        }

        ResultTable.Print(results, Console.Out);
        if (arguments.JsonFile is { } file)
        {
            ResultFile.Write(file, results);
        }

        return !isWhole || results.Exists(result => result.IsMet == false) ? 1 : 0;
    }

    /// <summary>A suite that breaks off must not take the figures of the others with it.</summary>
    private static bool Take(List<BenchmarkResult> results, Func<IEnumerable<BenchmarkResult>> run)
    {
        try
        {
            foreach (var figure in run())
            {
                results.Add(figure);
            }

            return true;
        }
#pragma warning disable CA1031 // Told, and the command ends with 1.
        catch (Exception exception)
#pragma warning restore CA1031
        {
            Console.Error.WriteLine($"  broken off: {exception}");
            return false;
        }
    }
}
