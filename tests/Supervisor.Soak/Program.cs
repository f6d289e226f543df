using System.Diagnostics;
using Supervisor.Scenarios.Stories;

namespace Supervisor.Soak;

/// <summary>Tells stories of machines until so many hours were simulated, and what was found in them.</summary>
internal static class Program
{
    private const int MostFindings = 10;
    private static readonly TimeSpan ProgressInterval = TimeSpan.FromSeconds(30);

    public static int Main(string[] args)
    {
        if (Arguments.Read(args, out var error) is not { } arguments)
        {
            Console.Error.WriteLine(error);
            Console.Error.WriteLine(Arguments.Usage);
            return 2;
        }

        var soak = new StoryRun(arguments.Seed, arguments.Axes, arguments.Scope);
        var watch = Stopwatch.StartNew();
        var told = TimeSpan.Zero;
        var shown = 0;
        soak.Run(TimeSpan.FromHours(arguments.Hours), MostFindings, current =>
        {
            for (; shown < current.Found.Count; shown++)
            {
                Console.WriteLine($"found: {current.Found[shown]}");
            }

            if (watch.Elapsed - told >= ProgressInterval)
            {
                told = watch.Elapsed;
                Console.WriteLine($"{current.Simulated.TotalHours:0.0} h simulated, {current.Simulated / watch.Elapsed:0} x real time");
            }
        });
        Report.Write(Console.Out, arguments, soak, watch.Elapsed);
        return soak.Found.Count > 0 ? 1 : 0;
    }
}
