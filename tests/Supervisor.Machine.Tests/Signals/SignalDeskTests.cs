using Supervisor.Configuration.Alarms;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Signals;
using Supervisor.Machine.Api;
using Supervisor.Machine.Tests.Outputs;
using Supervisor.Machine.Tests.Rig;
using Supervisor.Records.Alarms;
using Supervisor.Records.Commands;
using Supervisor.Records.Faults;
using static Supervisor.Machine.Tests.Rig.Machines;

namespace Supervisor.Machine.Tests.Signals;

/// <summary>Lights, horn and own alarms of the coordinator: what the places are given, by the state of the machine, its alarms and commands.</summary>
public sealed class SignalDeskTests
{
    private const int Red = 0;
    private const int Yellow = 1;
    private const int Blue = 2;
    private const int Green = 3;
    private const int HornPlace = 4;
    private const int ByStep = 1000;
    private const int ByInput = 1001;
    private const int ByCounter = 1002;

    private readonly OutputRig _rig = new(Machine());

    [Fact]
    public void Lights_StateOfTheMachine_LightsThoseOfTheFile()
    {
        _rig.Run(50);
        AssertLit(Green);

        _rig.Rig.Set("tray.input1", false);
        _rig.Rig.Set("tray.input2", false);
        _rig.Run(50);
        AssertLit(Red);
        Assert.Equal(SignalStates.EmergencyStop, Light(Red).Because);

        // Closed again it waits for a person.
        _rig.Rig.Set("tray.input1", true);
        _rig.Rig.Set("tray.input2", true);
        _rig.Run(50);
        AssertLit(Red, Blue);
        _rig.Rig.Set("tray.input3", true);
        _rig.Run(200);
        _rig.Rig.Set("tray.input3", false);
        _rig.Run(50);
        Assert.False(_rig.Places[Red].On);
        Assert.False(_rig.Places[Blue].On);
    }

    [Fact]
    public void Light_Stopped_CallsForTheRelease()
    {
        _rig.Rig.Control.Submit(new StopCommand([Drum]), null);
        _rig.Run(50);
        Assert.True(_rig.Places[Blue].On);
        Assert.False(_rig.Places[Green].On);

        _rig.Do(new ReleaseCommand([Drum]));
        _rig.Run(50);
        Assert.False(_rig.Places[Blue].On);
    }

    /// <summary>2.5 Hz has 5 edges a second: 100 in 20 s of simulated time.</summary>
    [Fact]
    public void Light_NewAlarm_FlashesAtTheFrequencyOfTheFile()
    {
        Assert.Equal(Outcome.Done, _rig.Do(new RaiseAlarmCommand(ByStep)).Outcome);
        _rig.Run(10);
        Assert.Equal((LightLook.Flashing, SignalStates.NewMediumAlarm, (bool?)null, true), (Light(Yellow).Look, Light(Yellow).Because, Light(Yellow).On, Light(Yellow).Answers));
        var (edges, on) = (0, 0);
        const int Steps = 4000;
        for (var i = 0; i < Steps; i++)
        {
            var before = _rig.Places[Yellow].On;
            _rig.Step();
            edges += _rig.Places[Yellow].On != before ? 1 : 0;
            on += _rig.Places[Yellow].On ? 1 : 0;
        }

        Assert.InRange(edges, 99, 101);
        Assert.InRange(on, Steps * 48 / 100, Steps * 52 / 100);

        // Returned and not acknowledged: it still flashes; the steady states are those of what stands.
        _rig.Do(new ClearAlarmCommand(ByStep));
        _rig.Run(10);
        Assert.Equal(LightLook.Flashing, Light(Yellow).Look);
    }

    [Fact]
    public void TestLamps_AllOnForTheTimeOfTheFile()
    {
        _rig.Run(50);
        var answer = MachineRig.Answer(Submit(new TestLampsCommand(Horn: false, "somebody")));
        Assert.Equal(Outcome.Done, answer.Outcome);
        _rig.Run(50);
        AssertLit(Red, Yellow, Blue, Green);
        Assert.False(_rig.Places[HornPlace].On);
        Assert.All(_rig.Rig.Control.Status().Lights, light => Assert.Equal((LightLook.Steady, SignalStates.None), (light.Look, light.Because)));
        Assert.Contains(_rig.Rig.Journal.Commands, each => each.Command is TestLampsCommand && each.Holder == "somebody");

        _rig.Run(3900);
        AssertLit(Red, Yellow, Blue, Green);
        _rig.Run(200);
        AssertLit(Green);

        Submit(new TestLampsCommand(Horn: true));
        _rig.Run(50);
        Assert.True(_rig.Places[HornPlace].On);
        _rig.Run(4200);
        Assert.False(_rig.Places[HornPlace].On);
    }

    [Fact]
    public void Horn_SilencedByCommand_IsSilentAndTheNextAlarmSoundsAgain()
    {
        _rig.Do(new RaiseAlarmCommand(ByStep));
        _rig.Run(50);
        Assert.True(_rig.Places[HornPlace].On);
        Assert.True(_rig.Rig.Control.Status().Horn!.Sounds);

        Assert.StartsWith("the horn is silent", MachineRig.Answer(Submit(new SilenceHornCommand("night watch"))).Message, StringComparison.Ordinal);
        _rig.Run(5000);
        Assert.False(_rig.Places[HornPlace].On);
        Assert.Equal(LightLook.Flashing, Light(Yellow).Look);
        Assert.Contains(_rig.Rig.Journal.Commands, each => each.Command is SilenceHornCommand && each.Holder == "night watch");

        // The same alarm again is a new one.
        _rig.Do(new ClearAlarmCommand(ByStep));
        _rig.Do(new RaiseAlarmCommand(ByStep));
        _rig.Run(50);
        Assert.True(_rig.Places[HornPlace].On);
    }

    [Fact]
    public void Horn_ButtonPressedBeforeTheAlarm_IsNoAnswerToIt()
    {
        _rig.Rig.Set("drum.input3", true);
        _rig.Run(50);
        _rig.Do(new RaiseAlarmCommand(ByStep));
        _rig.Run(500);
        Assert.True(_rig.Places[HornPlace].On);
    }

    [Fact]
    public void Horn_ButtonPressedWhileItSounds_Silences()
    {
        _rig.Do(new RaiseAlarmCommand(ByStep));
        _rig.Run(50);
        Assert.True(_rig.Places[HornPlace].On);
        _rig.Rig.Set("drum.input3", true);
        _rig.Run(50);
        Assert.False(_rig.Places[HornPlace].On);

        // Held, it does not answer what comes later.
        _rig.Do(new ClearAlarmCommand(ByStep));
        _rig.Do(new RaiseAlarmCommand(ByStep));
        _rig.Run(50);
        Assert.True(_rig.Places[HornPlace].On);
    }

    [Fact]
    public void Horn_NobodyComes_EndsAfterItsTime()
    {
        _rig.Do(new RaiseAlarmCommand(ByStep));
        _rig.Run(9900);
        Assert.True(_rig.Places[HornPlace].On);
        _rig.Run(200);
        Assert.False(_rig.Places[HornPlace].On);
    }

    /// <summary>It sounds from medium priority on.</summary>
    [Fact]
    public void Horn_LowAlarm_DoesNotSound()
    {
        for (var i = 0; i < 3; i++)
        {
            _rig.Do(new CountCommand(0, 1));
        }

        _rig.Run(500);
        Assert.Contains(_rig.Rig.Journal.Alarms, note => note is { Key.Number: ByCounter, Change: AlarmChange.Raised });
        Assert.False(_rig.Places[HornPlace].On);
    }

    [Fact]
    public void Light_PlaceLostAndBack_ShowsWhatIsNow()
    {
        _rig.Run(50);
        _rig.Places[Green].IsGone = true;
        _rig.Run(100);
        Assert.False(Light(Green).Answers);
        _rig.Places[Green].On = false;
        _rig.Places[Green].IsGone = false;
        _rig.Run(100);
        Assert.True(_rig.Places[Green].On);
        Assert.DoesNotContain(_rig.Rig.Journal.Faults, fault => fault.Code == FaultCode.OutputChanged);
    }

    [Fact]
    public void Light_ChangedBySomethingElse_IsToldOnceAndOrderedAnew()
    {
        _rig.Run(50);
        _rig.Places[Green].On = false;
        _rig.Run(3000);
        Assert.True(_rig.Places[Green].On);
        Assert.Equal([(FaultCode.OutputChanged, Green)], _rig.Rig.Journal.Faults.Select(fault => (fault.Code, (int)fault.Output)));
    }

    [Fact]
    public void Light_PlaceDoesNotFollow_IsToldOnce()
    {
        _rig.Run(50);
        _rig.Places[Green].IsStuck = true;
        _rig.Rig.Control.Submit(new StopCommand([Drum]), null);
        _rig.Run(5000);
        Assert.Equal([(FaultCode.OutputNotConfirmed, Green)], _rig.Rig.Journal.Faults.Select(fault => (fault.Code, (int)fault.Output)));
    }

    [Fact]
    public void End_LightsAndHornAreAsTheFileWants()
    {
        _rig.Do(new RaiseAlarmCommand(ByStep));
        _rig.Run(50);
        Assert.True(_rig.Places[HornPlace].On);
        _rig.Rig.Coordinator.BeginShutDown(_rig.Rig.Now);
        _rig.Run(5000);

        Assert.True(_rig.Rig.Coordinator.ShutDown.IsStopped);
        Assert.Equal([true, false, false, false, false], _rig.Places.Select(place => place.On));
    }

    [Fact]
    public void Input_LastsLongEnough_RaisesItsAlarmWithItsName()
    {
        _rig.Rig.Set("drum.input2", false);
        _rig.Run(150);
        Assert.Empty(_rig.Rig.Journal.Alarms);
        _rig.Run(100);
        var note = Assert.Single(_rig.Rig.Journal.Alarms);
        Assert.Equal((new AlarmKey(ByInput, AlarmSource.Machine), AlarmChange.Raised, "hopper low"), (note.Key, note.Change, note.Text));

        _rig.Rig.Set("drum.input2", true);
        _rig.Run(50);
        Assert.Equal(AlarmChange.Cleared, _rig.Rig.Journal.Alarms[^1].Change);
    }

    [Fact]
    public void Counter_AtItsNumber_RaisesAndItsResetClears()
    {
        _rig.Do(new CountCommand(0, 2));
        Assert.Empty(_rig.Rig.Journal.Alarms);
        _rig.Do(new CountCommand(0, 1));
        _rig.Run(10);
        Assert.Equal((3, AlarmChange.Raised), (_rig.Rig.Control.Count(0), Assert.Single(_rig.Rig.Journal.Alarms).Change));

        var answer = MachineRig.Answer(Submit(new ResetCounterCommand(0, "keeper")));
        _rig.Run(10);
        Assert.Equal("trays is set back from 3 to 0", answer.Message);
        Assert.Equal((0, AlarmChange.Cleared), (_rig.Rig.Control.Count(0), _rig.Rig.Journal.Alarms[^1].Change));
        Assert.Contains(_rig.Rig.Journal.Commands, each => each.Command is ResetCounterCommand && each.Holder == "keeper");
    }

    [Fact]
    public void Steps_OnAlarmsThatAreNotTheirs_AreRefused()
    {
        MachineRig.AssertRefused(_rig.Do(new RaiseAlarmCommand(ByInput)), Refusal.InvalidArgument, "1001", "hopper low", "input");
        MachineRig.AssertRefused(_rig.Do(new ClearAlarmCommand(ByCounter)), Refusal.InvalidArgument, "1002", "counter");
        MachineRig.AssertRefused(_rig.Do(new RaiseAlarmCommand(4711)), Refusal.InvalidArgument, "4711");
        MachineRig.AssertRefused(_rig.Do(new CountCommand(1, 1)), Refusal.InvalidArgument, "trays");
        MachineRig.AssertRefused(_rig.Do(new CountCommand(0, 0)), Refusal.InvalidArgument, "upwards");
        var ticket = _rig.Rig.Control.Submit(new RaiseAlarmCommand(ByStep), null);
        _rig.Step(2);
        MachineRig.AssertRefused(MachineRig.Answer(ticket), Refusal.AuthorityHeldByAnother, "operator");
    }

    [Fact]
    public void Reset_OfLatchedAlarm_LetsItGoOnceItsCauseIsGone()
    {
        _rig.Do(new RaiseAlarmCommand(ByStep));
        _rig.Do(new ClearAlarmCommand(ByStep));
        _rig.Run(50);
        Assert.True(_rig.Places[Blue].On, "a latched alarm waits for a person");

        _rig.Do(new ResetCommand([]));
        _rig.Run(50);
        Assert.False(_rig.Places[Blue].On);
    }

    [Theory]
    [InlineData("gpio:soc/red", "light red")]
    [InlineData("gpio:soc/horn", "horn")]
    public void Set_ByHand_IsRefused(string place, string what) =>
        MachineRig.AssertRefused(_rig.Do(new SetOutputCommand(-1, place, true)), Refusal.OutputNotByHand, what, "lamps test");

    [Fact]
    public void Step_WhileALightFlashes_AllocatesNothing()
    {
        _rig.Do(new RaiseAlarmCommand(ByStep));
        _rig.Run(1000);
        var now = _rig.Rig.Now;
        var least = long.MaxValue;
        for (var round = 0; round < 5; round++)
        {
            var before = GC.GetAllocatedBytesForCurrentThread();
            for (var i = 0; i < 400; i++)
            {
                now += TimeSpan.FromMilliseconds(1);
                _rig.Rig.Coordinator.Step(now);
            }

            least = Math.Min(least, GC.GetAllocatedBytesForCurrentThread() - before);
        }

        Assert.Equal(0, least);
    }

    [Fact]
    public void Light_AxisFaulted_IsYellow()
    {
        _rig.Rig.PortOf(Drum).Fault(Drum, FaultCode.MotorBlocked);
        _rig.Run(50);
        Assert.NotEqual(LightLook.Dark, Light(Yellow).Look);
        Assert.False(_rig.Places[Green].On);
    }

    private static MachineDefinition Machine()
    {
        var input = Input(Drum, "drum.input2");
        return Seeder() with
        {
            Counters = [new CounterDefinition("trays", null)],
            Alarms =
            [
                new OwnAlarmDefinition(ByStep, FaultPriority.Medium, [new OwnAlarmTexts("no tray", "c", "r")]) { Latched = true },
                new OwnAlarmDefinition(ByInput, FaultPriority.Low, [new OwnAlarmTexts("hopper low", "c", "r")])
                {
                    Input = new AlarmInput(input, RaisedWhileClosed: false, TimeSpan.FromMilliseconds(200), TimeSpan.Zero, SilentInput.Keep, TimeSpan.FromMilliseconds(250)),
                },
                new OwnAlarmDefinition(ByCounter, FaultPriority.Low, [new OwnAlarmTexts("cleaning due", "c", "r")]) { Counter = new AlarmCounter(0, 3) },
            ],
            Signals = new SignalsDefinition(
                [
                    Lamp("red", SignalColour.Red, SignalStates.EmergencyStop, SignalStates.None) with { AtLoss = OutputState.On },
                    Lamp("yellow", SignalColour.Yellow, SignalStates.AxisFaulted, SignalStates.NewMediumAlarm | SignalStates.NewHighAlarm),
                    Lamp("blue", SignalColour.Blue, SignalStates.PersonNeeded, SignalStates.None),
                    Lamp("green", SignalColour.Green, SignalStates.Ready | SignalStates.Moving, SignalStates.None),
                ],
                new HornDefinition(
                    OutputRig.Gpio("horn"), FaultPriority.Medium, TimeSpan.FromSeconds(10), Input(Drum, "drum.input3"), TimeSpan.FromMilliseconds(250), OutputState.Off),
                TimeSpan.FromSeconds(4)),
        };
    }

    private static LightDefinition Lamp(string name, SignalColour colour, SignalStates steady, SignalStates flashing) =>
        new(name, OutputRig.Gpio(name), colour, [$"{name} text"], steady, flashing, 2.5, OutputState.Off);

    private LightStatus Light(int index) => _rig.Rig.Control.Status().Lights[index];

    private CommandTicket Submit(MachineCommand command)
    {
        var ticket = _rig.Rig.Control.Submit(command, null);
        _rig.Step(2);
        return ticket;
    }

    private void AssertLit(params int[] lights) =>
        Assert.Equal(lights, Enumerable.Range(0, 4).Where(light => _rig.Places[light].On));
}
