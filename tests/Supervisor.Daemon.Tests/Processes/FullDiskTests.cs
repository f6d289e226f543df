using System.Runtime.InteropServices;
using System.Text.Json;
using Grpc.Core;
using Supervisor.Api.V1;
using Supervisor.Daemon.Client;
using Supervisor.History.Entries;
using Supervisor.History.Reading;
using RecordKind = Supervisor.History.Entries.RecordKind;

namespace Supervisor.Daemon.Tests.Processes;

/// <summary>
/// A disk without room while axes move. What stands for it is the limit of the size of files (<c>RLIMIT_FSIZE</c>, setrlimit(2)), lowered from outside while
/// the daemon runs: its writes fail as on a full disk, though with EFBIG instead of ENOSPC, and neither needs rights nor fills anybody's disk. The signal
/// that comes with it (SIGXFSZ) is ignored by the shell that starts the daemon; a real disk sends none.
/// </summary>
[Collection(ProcessTests.Name)]
public sealed partial class FullDiskTests
{
    /// <summary>More than the queue in front of the disk has places for what is no fault: 3072 (HistoryOptions).</summary>
    private const int Refusals = 4_000;

    private const int FileSize = 1;

    private static CancellationToken Cancelled => TestContext.Current.CancellationToken;

    [Fact]
    public async Task Disk_Full_AxesGoOnAndTheHistoryTellsOnceThereIsRoom()
    {
        await using var trial = await TrialMachine.StartReadyAsync(wrap: ["/bin/sh", "-c", "trap '' XFSZ; exec \"$0\" \"$@\""]);
        using var daemon = await DaemonConnection.OpenAsync(trial.Socket, Cancelled);
        SetLimit(trial.Serve.Id, 4_096);

        // A refusal is a record, a move that arrived is none. Axes go on, and the status says what is wrong.
        Assert.Equal(1, (await trial.RunAsync("move", "gantry", "999999")).ExitCode);
        var moved = await trial.RunAsync("move", "gantry", "100");
        Assert.True(moved.ExitCode == 0, moved.ToString());
        await trial.SeeAsync("trouble with the history", status => !History(status).GetProperty("good").GetBoolean());
        Assert.Contains("history.db", History((await trial.StatusAsync())!.Value).GetProperty("problem").GetString(), StringComparison.Ordinal);
        Assert.Contains("history.db", (await trial.RunAsync("status")).Output, StringComparison.Ordinal);

        await RefuseAsync(daemon);
        var lost = History((await trial.StatusAsync())!.Value).GetProperty("lost").GetInt64();
        Assert.InRange(lost, 1, Refusals);
        moved = await trial.RunAsync("move", "gantry", "200");
        Assert.True(moved.ExitCode == 0, moved.ToString());

        SetLimit(trial.Serve.Id, ulong.MaxValue);
        await trial.SeeAsync("the history written again", status => History(status).GetProperty("good").GetBoolean());
        trial.Serve.Signal(Signals.Terminate);
        Assert.Equal(0, (await trial.Serve.EndAsync()).ExitCode);

        var notices = new HistoryReader(Path.Combine(trial.StateFolder, "history.db"))
            .Query(new HistoryFilter { Kinds = [RecordKind.Notice], Limit = 100 }).Records.Select(stored => (NoticeRecord)stored.Record).ToArray();
        var back = Assert.Single(notices, notice => notice.Notice == NoticeKind.DiskBack);
        Assert.InRange(back.Count, lost, Refusals);
        Assert.Contains($"{back.Count} records of that time are missing", back.Message, StringComparison.Ordinal);
        Assert.Equal(back.Count, notices.Where(notice => notice.Notice == NoticeKind.RecordsLost).Sum(notice => notice.Count));
    }

    private static JsonElement History(JsonElement status) => status.GetProperty("history");

    /// <summary>Commands without authority: each is refused, and each refusal is a record.</summary>
    private static async Task RefuseAsync(DaemonConnection daemon)
    {
        await Parallel.ForEachAsync(Enumerable.Range(0, Refusals), new ParallelOptions { MaxDegreeOfParallelism = 16, CancellationToken = Cancelled }, async (_, cancelled) =>
        {
            var jog = new JogRequest { Axis = "drum", PressId = 1, Direction = JogDirection.Positive };
            var refused = await Assert.ThrowsAsync<RpcException>(async () => await daemon.Motion.JogAsync(jog, cancellationToken: cancelled));
            Assert.True(refused.StatusCode is StatusCode.PermissionDenied or StatusCode.ResourceExhausted, refused.ToString());
        });
    }

    /// <summary>Sets how large a process's files may be; the hard limit stays.</summary>
    private static void SetLimit(int process, ulong bytes)
    {
        Assert.Equal(0, Limit(process, FileSize, IntPtr.Zero, out var before));
        var limit = new FileLimit { Now = Math.Min(bytes, before.Hard), Hard = before.Hard };
        Assert.Equal(0, Limit(process, FileSize, limit, IntPtr.Zero));
    }

    [LibraryImport("libc", EntryPoint = "prlimit64")]
    private static partial int Limit(int process, int resource, IntPtr set, out FileLimit before);

    [LibraryImport("libc", EntryPoint = "prlimit64")]
    private static partial int Limit(int process, int resource, in FileLimit set, IntPtr before);

    [StructLayout(LayoutKind.Sequential)]
    private struct FileLimit
    {
        public ulong Now;
        public ulong Hard;
    }
}
