using Supervisor.Configuration.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Alarms;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using Supervisor.Runtime;

namespace Supervisor.Machine.Tests.OwnAlarms;

/// <summary>What becomes of own alarms that an earlier run left standing.</summary>
public sealed class OwnAlarmMemoryTests
{
    private const int ByStep = 1000;
    private const int ByInput = 1001;
    private const int Gone = 4711;

    private readonly Coordinator _coordinator;
    private TimeSpan _now = TimeSpan.FromSeconds(100);

    public OwnAlarmMemoryTests()
    {
        var machine = Machines.Seeder() with
        {
            Alarms =
            [
                new OwnAlarmDefinition(ByStep, FaultPriority.Medium, [new OwnAlarmTexts("no tray", "c", "r")]),
                new OwnAlarmDefinition(ByInput, FaultPriority.Medium, [new OwnAlarmTexts("hopper low", "c", "r")])
                {
                    Input = new AlarmInput(Machines.Input(Machines.Drum, "drum.input2"), false, TimeSpan.Zero, TimeSpan.Zero, SilentInput.Keep, TimeSpan.FromMilliseconds(250)),
                },
            ],
        };
        _coordinator = new Coordinator(
            new MachineBoard(machine), new FakeJournal(),
            alarms: [Left(ByStep, AlarmState.UnacknowledgedActive), Left(ByInput, AlarmState.AcknowledgedActive), Left(Gone, AlarmState.LatchedAcknowledged)]);
    }

    [Fact]
    public void Step_AfterARestart_WhatStepsRaisedStandsAndWhatNobodyRaisesEnds()
    {
        Run(15);
        Assert.Equal([Gone, ByStep], _coordinator.Control.Alarms.Alarms.Select(alarm => alarm.Key.Number).OrderDescending());
        Assert.Equal(AlarmState.UnacknowledgedActive, _coordinator.Control.Alarms.Alarms.Single(alarm => alarm.Key.Number == ByStep).State);
    }

    /// <summary>A latched alarm that the machine file has no more is let go by a reset like any other.</summary>
    [Fact]
    public void Reset_OfOneTheFileHasNoMore_LetsItGo()
    {
        Run(15);
        var grant = _coordinator.Control.TryAcquire("operator", out _);
        var ticket = _coordinator.Control.Submit(new ResetCommand([]), grant);
        Run(1);
        Assert.Equal(Outcome.Done, MachineRig.Answer(ticket).Outcome);
        Assert.DoesNotContain(_coordinator.Control.Alarms.Alarms, alarm => alarm.Key.Number == Gone);
    }

    private static AlarmStatus Left(int number, AlarmState state) =>
        new(new AlarmKey(number, AlarmSource.Machine), state, FaultPriority.Medium, TimeSpan.FromSeconds(1), TimeSpan.FromSeconds(1), 1) { IsLatching = number == Gone };

    private void Run(double seconds)
    {
        for (var until = _now + TimeSpan.FromSeconds(seconds); _now < until; _now += MachineRig.Period)
        {
            _coordinator.Step(_now);
        }
    }
}
