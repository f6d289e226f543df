using System.Net.Sockets;
using System.Text;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>What the daemon tells a service manager, heard on a real socket.</summary>
[Collection(ProcessTests.Name)]
[Trait(Daemon.ProgramTrait, Daemon.Beside)]
public sealed class ServiceTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("service-").FullName;
    private readonly Socket _socket = new(AddressFamily.Unix, SocketType.Dgram, ProtocolType.Unspecified);

    [Fact]
    public async Task Serve_UnderAServiceManager_IsReadyThenFeedsThenStops()
    {
        var path = Path.Combine(_folder, "notify");
        _socket.Bind(new UnixDomainSocketEndPoint(path));
        await using var trial = await TrialMachine.StartAsync(variables: new Dictionary<string, string>
        {
            ["NOTIFY_SOCKET"] = path, ["WATCHDOG_USEC"] = "1000000",
        });

        Assert.StartsWith("READY=1", await HearOtherThanAsync("WATCHDOG=1"), StringComparison.Ordinal);
        for (var fed = 0; fed < 3; fed++)
        {
            Assert.Equal("WATCHDOG=1", await HearAsync());
        }

        // A line that is unplugged is no reason to restart the daemon.
        trial.Bench("unplug line-b");
        await trial.SeeAsync("the dibber faulted", status => TrialMachine.Axis(status, "dibber").GetProperty("state").GetString() == "Faulted");
        Drain();
        for (var fed = 0; fed < 4; fed++)
        {
            Assert.Equal("WATCHDOG=1", await HearAsync());
        }

        trial.Serve.Signal(Signals.Terminate);
        Assert.StartsWith("STOPPING=1", await HearOtherThanAsync("WATCHDOG=1"), StringComparison.Ordinal);
        Assert.Equal(0, (await trial.Serve.EndAsync()).ExitCode);
    }

    public void Dispose()
    {
        _socket.Dispose();
        Directory.Delete(_folder, recursive: true);
    }

    private void Drain()
    {
        var buffer = new byte[1_024];
        while (_socket.Available > 0)
        {
            _socket.Receive(buffer);
        }
    }

    private async Task<string> HearOtherThanAsync(string known)
    {
        string heard;
        do
        {
            heard = await HearAsync();
        }
        while (heard == known);
        return heard;
    }

    private async Task<string> HearAsync()
    {
        var buffer = new byte[1_024];
        using var limit = CancellationTokenSource.CreateLinkedTokenSource(TestContext.Current.CancellationToken);
        limit.CancelAfter(Daemon.Patience);
        return Encoding.UTF8.GetString(buffer, 0, await _socket.ReceiveAsync(buffer, limit.Token)).Trim();
    }
}
