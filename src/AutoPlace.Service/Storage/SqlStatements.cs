using Microsoft.Data.Sqlite;

namespace AutoPlace.Service.Storage;

/// <summary>Statements in one line each; parameters are $1, $2 and so on, null included.</summary>
internal static class SqlStatements
{
    /// <summary>Runs a statement and returns how many rows it changed.</summary>
    public static int Execute(this SqliteConnection connection, string sql, params ReadOnlySpan<object?> values)
    {
        using SqliteCommand command = Command(connection, sql, values);
        return command.ExecuteNonQuery();
    }

    /// <summary>All rows of a query.</summary>
    public static List<T> All<T>(this SqliteConnection connection, string sql, Func<SqliteDataReader, T> map, params ReadOnlySpan<object?> values)
    {
        using SqliteCommand command = Command(connection, sql, values);
        using SqliteDataReader reader = command.ExecuteReader();
        var rows = new List<T>();
        while (reader.Read())
        {
            rows.Add(map(reader));
        }

        return rows;
    }

    /// <summary>The first row of a query, or the type's default when there is none.</summary>
    public static T? One<T>(this SqliteConnection connection, string sql, Func<SqliteDataReader, T> map, params ReadOnlySpan<object?> values)
    {
        using SqliteCommand command = Command(connection, sql, values);
        using SqliteDataReader reader = command.ExecuteReader();
        return reader.Read() ? map(reader) : default;
    }

    /// <summary>A text that may be null.</summary>
    public static string? Text(this SqliteDataReader row, int column) => row.IsDBNull(column) ? null : row.GetString(column);

    /// <summary>A whole number that may be null.</summary>
    public static int? Number(this SqliteDataReader row, int column) => row.IsDBNull(column) ? null : row.GetInt32(column);

    private static SqliteCommand Command(SqliteConnection connection, string sql, ReadOnlySpan<object?> values)
    {
        SqliteCommand command = connection.CreateCommand();
        command.CommandText = sql;
        for (int i = 0; i < values.Length; i++)
        {
            command.Parameters.AddWithValue($"${i + 1}", values[i] ?? DBNull.Value);
        }

        return command;
    }
}
