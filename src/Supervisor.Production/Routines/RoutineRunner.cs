using Supervisor.Bus;
using Supervisor.Configuration.Routines;

namespace Supervisor.Production.Routines;

/// <summary>
/// Runs routines: one step after the other, each begun once the one before has ended well. The first that does not ends the
/// routine; nothing is tried again.
/// </summary>
/// <param name="machine">The machine, with the right to command it.</param>
/// <param name="clock">Waits are on this clock.</param>
public sealed class RoutineRunner(IRoutineMachine machine, IMonotonicClock clock)
{
    private const string Production = "production";

    /// <summary>Runs a routine on a thread of its own.</summary>
    /// <inheritdoc cref="Run"/>
    public Task<RoutineResult> RunAsync(
        RoutineDefinition routine, IReadOnlyDictionary<string, double> parameters, Action<RoutineProgress>? progress, CancellationToken cancellation)
    {
        var done = new TaskCompletionSource<RoutineResult>(TaskCreationOptions.RunContinuationsAsynchronously);
        var thread = new Thread(() =>
        {
            try
            {
                done.SetResult(Run(routine, parameters, progress, cancellation));
            }
            catch (Exception exception)
            {
                done.SetException(exception);
            }
        })
        { Name = "routine", IsBackground = true };
        thread.Start();
        return done.Task;
    }

    /// <summary>Runs a routine; blocks the calling thread until it has ended and its axes are at rest.</summary>
    /// <param name="routine">The routine.</param>
    /// <param name="parameters">Values of parameters by name, in their units; the others keep their defaults.</param>
    /// <param name="progress">Told before each step, on the running thread; may be null.</param>
    /// <param name="cancellation">Ends the routine: the axes it moves are stopped in order, and that is waited for. Outputs stay as they are.</param>
    /// <returns>How it ended. Refusals and faults are in it; an exception is an error of the program, after which the axes were told to stop.</returns>
    public RoutineResult Run(
        RoutineDefinition routine, IReadOnlyDictionary<string, double> parameters, Action<RoutineProgress>? progress, CancellationToken cancellation)
    {
        var values = ParameterValues.Resolve(routine, parameters);
        if (machine.Status().Mode is var mode and not Production)
        {
            return new RoutineResult(RoutineEnd.NotStarted, null, null, $"the machine is in {mode} mode, which runs no routine: choose production mode first");
        }

        if (values.Errors.Count > 0)
        {
            return new RoutineResult(RoutineEnd.NotStarted, null, null, string.Join('\n', values.Errors));
        }

        var before = machine.Status();
        var result = new RoutineRun(machine, clock, routine, values, progress, cancellation).Run();
        return result with { Loads = CycleLoad.Between(before, machine.Status()) };
    }
}
