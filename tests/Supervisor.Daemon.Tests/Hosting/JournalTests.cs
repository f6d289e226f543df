using Microsoft.Extensions.Logging.Abstractions;
using Supervisor.Configuration.Drives;
using Supervisor.Configuration.Machines;
using Supervisor.Daemon.Hosting;
using Supervisor.History;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using Supervisor.History.Recordings.Cutting;
using Supervisor.Records.Axes;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Tests.Hosting;

/// <summary>What the journal writes beside a fault's name.</summary>
public sealed class JournalTests : IDisposable
{
    private readonly DirectoryInfo _folder = Directory.CreateTempSubdirectory("journal-");

    public void Dispose() => _folder.Delete(recursive: true);

    [Fact]
    public void Fault_OfAnotherKindOfDevice_IsKeptWithWhatWasFoundAndWhatIsAccepted()
    {
        var demo = SmallMachine.Whole;
        var accepted = new IdentificationDefinition("Maker", "TS-4", []);
        var machine = demo with
        {
            Axes = [demo.Axes[0] with { Drive = demo.Axes[0].Drive with { Identification = accepted } }, .. demo.Axes.Skip(1)],
            Modules = [new ModuleDefinition("terminal", 1, 20, null, null, null, TimeSpan.FromMilliseconds(40), TimeSpan.FromMilliseconds(200), TimeSpan.Zero) { Identification = accepted }],
        };
        var path = Path.Combine(_folder.FullName, "history.db");
        using (var history = HistoryStore.Open(new HistoryOptions { Path = path, BootId = WallClock.BootId, Clock = WallClock.Read, Pause = _ => Thread.Yield() }))
        {
            var journal = new Journal(machine, history, new RecordingEvents(), NullLogger<Journal>.Instance);
            var found = new IdentityDifference(IdentityObject.Product, new ShortText("TS-5"u8));
            journal.Fault(new FaultEvent(TimeSpan.FromSeconds(1), 0, 0, FaultCode.WrongIdentity, 0, AxisState.Disabled, 0, 0) { Identity = found });
            journal.Fault(new FaultEvent(TimeSpan.FromSeconds(2), -1, 1, FaultCode.ModuleRefuses, 0, AxisState.Disabled, 0, double.NaN) { Module = 0, Identity = found });
        }

        Assert.Equal(
            ["its product is \"TS-5\"; \"TS-4\" is accepted", "module terminal: its product is \"TS-5\"; \"TS-4\" is accepted"],
            new HistoryReader(path).Query(new HistoryFilter { Limit = 100 }).Records.Select(each => each.Record).OfType<FaultRecord>().OrderBy(fault => fault.At).Select(fault => fault.Note));
    }
}
