using Supervisor.Configuration.Alarms;
using Supervisor.Configuration.Languages;
using Supervisor.Configuration.Machines;
using Supervisor.Configuration.Signals;
using Supervisor.Daemon.Verbs;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Tests.Verbs;

/// <summary>What <c>check</c> says of own alarms, counters, lights and horn.</summary>
public sealed class CheckedAlarmsTests
{
    [Fact]
    public void Lines_TellEachOnce()
    {
        var input = new InputReference("file:hopper", InputSource.File, -1, null, "/hopper");
        var machine = SmallMachine.With("slide") with
        {
            Languages = new LanguageList(["en", "de"]),
            Counters = [new CounterDefinition("trays", new CountedInput(input, Closings: true, TimeSpan.Zero, TimeSpan.FromSeconds(1))), new CounterDefinition("rows", null)],
            Alarms =
            [
                new OwnAlarmDefinition(1000, FaultPriority.Medium, [Texts("hopper low"), Texts("Trichter leer")])
                {
                    Input = new AlarmInput(input, RaisedWhileClosed: false, TimeSpan.FromMilliseconds(2500), TimeSpan.Zero, SilentInput.Raise, TimeSpan.FromSeconds(1)),
                },
                new OwnAlarmDefinition(1001, FaultPriority.Low, [Texts("cleaning due"), Texts("Reinigen")]) { Counter = new AlarmCounter(0, 500), Latched = true },
                new OwnAlarmDefinition(1002, FaultPriority.High, [Texts("no tray"), Texts("Keine Schale")]),
            ],
            Signals = new SignalsDefinition(
                [new LightDefinition("trouble", Place("a"), SignalColour.Yellow, ["t", "t"], SignalStates.AxisFaulted | SignalStates.LowAlarm, SignalStates.NewLowAlarm, 0.5, OutputState.Off)],
                new HornDefinition(Place("b"), FaultPriority.Medium, TimeSpan.FromSeconds(30), input, TimeSpan.FromSeconds(1), OutputState.Hold), TimeSpan.FromSeconds(5)),
        };

        Assert.Equal(
            [
                "own alarms: 3, texts in en, de",
                "alarm 1000 hopper low: medium, file:hopper open for 2500 ms, gone after 0 ms, silence raises it",
                "alarm 1001 cleaning due: low, counter trays from 500 on, stays until its reset",
                "alarm 1002 no tray: high, raised by steps of routines",
                "counter trays: closings of file:hopper",
                "counter rows: steps of routines",
                "light trouble: gpio:soc/a, yellow, steady while axisFaulted, lowAlarm, flashing at 0.5 Hz while newLowAlarm, loss off",
                "horn: gpio:soc/b, from medium priority, at most 30 s, silenced by file:hopper or by command, loss hold",
            ],
            CheckedAlarms.Lines(machine));
        Assert.Empty(CheckedAlarms.Lines(SmallMachine.With("slide") with { Alarms = [] }));
    }

    private static OwnAlarmTexts Texts(string name) => new(name, "c", "r");

    private static OutputReference Place(string line) => new($"gpio:soc/{line}", OutputSource.Gpio, -1, -1) { Gpio = new GpioReference("soc", line) };
}
