using System.Runtime.Versioning;
using Supervisor.Benchmarks.Rig;
using Supervisor.Bus;
using Supervisor.Configuration.Machines;
using Supervisor.Simulation.Bench;

namespace Supervisor.Benchmarks.Served;

/// <summary>The drives of a machine file in a process of its own, on pseudo-terminals that keep the times of the wire; it ends with its input.</summary>
[SupportedOSPlatform("linux")]
internal static class ServedDrives
{
    public const string Option = "--drives";

    public static int Run(string machineFile, string linkFolder)
    {
        if (MachineFile.Read(machineFile).Value is not { } machine)
        {
            return 2;
        }

        using var bench = new MachineBench(machine, linkFolder, new RaisingClock(MonotonicClock.System));
        bench.Run(Console.In, Console.Out);
        return 0;
    }
}
