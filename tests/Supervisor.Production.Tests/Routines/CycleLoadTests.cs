using Supervisor.Configuration.Routines;
using Supervisor.Motion.Heating;
using Supervisor.Production.Routines;

namespace Supervisor.Production.Tests.Routines;

/// <summary>The root mean square of the torque over a run, whatever the axis did before it.</summary>
public sealed class CycleLoadTests
{
    /// <summary>
    /// A cycle of constant torques, 3 for 0.2 s, 1 for 0.6 s, 2 for 0.2 s, 0 for 0.5 s, gives 1.460593: computed from the textbook formula
    /// √(ΣT²t/Σt). The axis had worked hard for an hour before.
    /// </summary>
    [Fact]
    public void Loads_OfARun_AreTheTextbooks()
    {
        var machine = new FakeMachine { DibberLoad = new LoadSum().With(90, TimeSpan.FromHours(1)) };
        (double Torque, double Seconds)[] phases = [(3, 0.2), (-1, 0.6), (2, 0.2), (0, 0.5)];
        var steps = phases.Select((phase, index) => (RoutineStep)new WaitStep($"{index}", TimeSpan.FromSeconds(phase.Seconds))).ToArray();
        var routine = new RoutineDefinition("sow", [], steps);

        var before = machine.DibberLoad;
        var result = new RoutineRunner(machine, machine).Run(
            routine,
            new Dictionary<string, double>(),
            step => machine.DibberLoad = machine.DibberLoad.With(phases[step.Index].Torque, TimeSpan.FromSeconds(phases[step.Index].Seconds)),
            CancellationToken.None);

        var load = Assert.Single(result.Loads);
        Assert.Equal((FakeMachine.Dibber, "dibber"), (load.Axis, load.Name));
        Assert.Equal(1.460593, load.TorqueRmsPercent, 1e-5);
        Assert.Equal(1.5, load.Known.TotalSeconds, 1e-3);
        Assert.True(machine.DibberLoad.RmsSince(before) > 0);
    }

    [Fact]
    public void Loads_OfARunThatWasRefused_AreNone()
    {
        var machine = new FakeMachine { Mode = "manual" };

        Assert.Empty(new RoutineRunner(machine, machine).Run(new RoutineDefinition("sow", [], []), new Dictionary<string, double>(), null, CancellationToken.None).Loads);
    }
}
