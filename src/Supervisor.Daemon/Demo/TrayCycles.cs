using System.Globalization;
using Supervisor.Bus;
using Supervisor.Configuration.Routines;
using Supervisor.Machine.Api;
using Supervisor.Production.Routines;

namespace Supervisor.Daemon.Demo;

/// <summary>Runs the routine file, a tray a run, under an authority of its own.</summary>
internal sealed class TrayCycles(MachineControl control, RoutineDefinition routine, DemoVoice voice)
{
    private static readonly Dictionary<string, double> Defaults = [];

    /// <summary>Sows one tray.</summary>
    /// <exception cref="DemoFailedException">The routine did not come to its end; the message says where and why.</exception>
    /// <exception cref="OperationCanceledException">It was cancelled; its axes have stopped.</exception>
    public async Task RunAsync(CancellationToken cancellation)
    {
        using var grant = control.TryAcquire($"routine {routine.Name}", out var refusal)
            ?? throw new DemoFailedException($"routine {routine.Name} did not get authority: {refusal!.Message}");
        var runner = new RoutineRunner(new ControlledMachine(control, grant), MonotonicClock.System);
        var steps = new List<string>();
        var result = await runner.RunAsync(routine, Defaults, step => steps.Add(step.Name), cancellation);
        cancellation.ThrowIfCancellationRequested();
        if (result.End != RoutineEnd.Completed)
        {
            throw new DemoFailedException(result.Message);
        }

        voice.Say($"  {string.Join(", ", steps)}");
        voice.Say($"  torque of this tray, root mean square: {string.Join(", ", result.Loads.Select(load => string.Create(CultureInfo.InvariantCulture, $"{load.Name} {load.TorqueRmsPercent:0.0} %")))}");
    }
}
