using Supervisor.Daemon.Memories;
using Supervisor.History.Clocks;
using Supervisor.Machine.Alarms;
using Supervisor.Machine.Api;
using Supervisor.Records.Alarms;
using Supervisor.Records.Faults;

namespace Supervisor.Daemon.Tests.Memories;

public sealed class AlarmFileTests : IDisposable
{
    private const string Boot = "boot-1";
    private static readonly DateTimeOffset Noon = new(2031, 5, 6, 12, 0, 0, TimeSpan.Zero);
    private static readonly ClockReading Then = new(TimeSpan.FromHours(10), Noon, UtcQuality.Synchronised);
    private readonly string _folder = Directory.CreateTempSubdirectory("alarms-").FullName;
    private readonly AlarmFile _file;

    public AlarmFileTests() => _file = new AlarmFile(SmallMachine.Whole, _folder);

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Alarms_WrittenAndReadInTheSameBoot_AreAsTheyWere()
    {
        _file.Write(Some, Then, Boot);
        var read = _file.Read(Then with { Monotonic = TimeSpan.FromHours(11), Quality = UtcQuality.Unsynchronised }, Boot, out var problem);
        Assert.Null(problem);
        Assert.Equal(Some, read);
    }

    [Fact]
    public void Alarms_OfAnotherBoot_KeepTheirTimesByTheWallClock()
    {
        _file.Write(Some, Then, Boot);

        // An hour later the board has been up for a minute.
        var read = _file.Read(new ClockReading(TimeSpan.FromMinutes(1), Noon.AddHours(1), UtcQuality.Synchronised), "boot-2", out _);
        Assert.Equal(TimeSpan.FromMinutes(61), read[1].OutOfService!.Until);
        Assert.Equal(TimeSpan.FromMinutes(1) - TimeSpan.FromHours(2), read[0].Since);
    }

    [Fact]
    public void Alarms_OfAnotherBootWithoutARightClock_AreBackInServiceAtOnce()
    {
        _file.Write(Some, Then, Boot);
        var now = new ClockReading(TimeSpan.FromMinutes(1), Noon.AddYears(-60), UtcQuality.Unsynchronised);
        var read = _file.Read(now, "boot-2", out _);
        Assert.Equal((now.Monotonic, "Ada"), (read[1].OutOfService!.Until, read[1].OutOfService!.By));
        Assert.Equal((now.Monotonic, "Ada"), (read[0].Acknowledged!.At, read[0].Acknowledged!.By));
    }

    [Theory]
    [InlineData("")]
    [InlineData("{ \"alarms\": [")]
    [InlineData("{ \"bootId\": \"boot-1\", \"utc\": \"2031-05-06T12:00:00Z\", \"clockSynchronised\": true, \"atMs\": 0, \"alarms\": [ { \"number\": 1 } ] }")]
    public void File_ThatIsDamaged_GivesNothingAndSaysSo(string text)
    {
        File.WriteAllText(_file.Path, text);
        Assert.Empty(_file.Read(Then, Boot, out var problem));
        Assert.Contains(_file.Path, problem, StringComparison.Ordinal);
    }

    [Fact]
    public void Alarm_OfAnAxisThatTheMachineFileHasNoMore_IsLeftOut()
    {
        _file.Write(Some, Then, Boot);
        File.WriteAllText(_file.Path, File.ReadAllText(_file.Path).Replace(SmallMachine.Whole.Axes[0].Name, "gone", StringComparison.Ordinal));
        Assert.Single(_file.Read(Then, Boot, out var problem));
        Assert.Null(problem);
    }

    private static AlarmStatus[] Some =>
    [
        new(new AlarmKey((int)FaultCode.MotorBlocked, AlarmSource.Axis(0)), AlarmState.AcknowledgedActive, FaultPriority.Medium, TimeSpan.FromHours(9), TimeSpan.FromHours(9.5), 3)
        {
            Occurrence = 17, Detail = "drive code 28961", IsLatching = true, Acknowledged = new PersonsAct("Ada", TimeSpan.FromHours(9.75)),
        },
        new(new AlarmKey(1001, AlarmSource.Machine), AlarmState.ShelvedNormal, FaultPriority.Low, TimeSpan.FromHours(9), TimeSpan.FromHours(9), 1)
        {
            ReturnedAt = TimeSpan.FromHours(9.25), OutOfService = new OutOfService("Ada", "test", TimeSpan.FromHours(9.5), TimeSpan.FromHours(12)),
        },
    ];
}
